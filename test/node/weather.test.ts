import { describe, expect, it } from 'vitest'
import { parsePayload } from '../../src/aprs/parse.js'
import type { WeatherReading } from '../../src/services/weather/reading.js'
import { testNode } from './testNode.js'

const position = { latitudeDeg: 49.0583333, longitudeDeg: -72.0291667 }
/** Each value of a report as it goes on the air (ch. 12), at the last step within its range and at the first one beyond. */
const steps = [
  ['temperatureC', 't140', 't141'],
  ['temperatureC', 't-99', undefined],
  ['windSpeedMps', 's268', 's269'],
  ['windGustMps', 'g268', 'g269'],
  ['rainLastHourMm', 'r999', undefined],
  ['rainLastDayMm', 'p999', undefined],
  ['humidityPercent', 'h00', undefined],
  ['pressureHpa', 'b11000', 'b11001'],
  ['pressureHpa', 'b05000', 'b04999'],
] as const

describe('weather of stations heard', () => {
  it.each(steps)('%s: %s is kept, %s is left out and counted', async (field, within, beyond) => {
    const node = testNode({ options: { position } })
    node.hear(`N0CALL-7>APZ001:_10090556c...${within}`)
    expect(node.store.stations.find('N0CALL-7')).toBeDefined()
    const [report] = node.store.stations.weather(60_000)
    expect(report?.[field]).toBeTypeOf('number')
    if (beyond === undefined) return
    node.hear(`N0CALL-8>APZ001:_10090556c...${beyond}`)
    expect(node.store.stations.weather(60_000).map(({ call }) => call)).toEqual(['N0CALL-7'])
    expect(node.node.state().endings).toEqual([
      { what: 'weather left out', reason: `${field} outside of what weather can be`, count: 1 },
    ])
  })

  it('a report without a value does not take the place of one that has them', () => {
    const node = testNode({ options: { position } })
    node.hear('N0CALL-7>APZ001:_10090556c...s...g...t077')
    node.hear('N0CALL-7>APZ001:_10090557c...s...g...t...h..b.....')
    expect(node.store.stations.weather(60_000)).toMatchObject([{ temperatureC: 25 }])
  })
})

describe('weather of the own instrument', () => {
  const figures = {
    temperatureC: -5,
    windDirectionDeg: 0,
    windSpeedMps: 1.78816,
    humidityPercent: 100,
    pressureHpa: 990,
  }
  const withInstrument = (reading: Partial<WeatherReading> | undefined, more = {}) =>
    testNode({
      options: {
        position,
        beacons: {
          weather: async () => reading && ({ atWallMs: 0, figures, ...reading } as WeatherReading),
        },
        ...more,
      },
    })

  it('is sent as a beacon in the form of chapter 12, with the time of the reading', async () => {
    const node = withInstrument({ atWallMs: Date.UTC(1970, 0, 9, 23, 45) })
    node.node.beaconNow('weather')
    await node.wait(2)
    const [text] = node.sentTexts()
    expect(text).toBe('@092345z4903.50N/07201.75W_360/004g...t023h00b09900')
    expect(parsePayload(new TextEncoder().encode(text), 'APZRPT')).toMatchObject({
      kind: 'position',
      weather: { temperatureC: -5, windDirectionDeg: 360, humidityPercent: 100, pressureHpa: 990 },
    })
  })

  it('is sent without a position where none is known, and not at all where nothing is fresh', async () => {
    const node = withInstrument({ atWallMs: Date.UTC(1970, 9, 9, 5, 56) }, { position: undefined })
    node.node.beaconNow('weather')
    await node.wait(2)
    expect(node.sentTexts()).toEqual(['_10090556c360s004g...t023h00b09900'])
    const silent = withInstrument(undefined)
    silent.node.beaconNow('weather')
    await silent.wait(2)
    expect(silent.sentTexts()).toEqual([])
  })

  it('answers ?WX?, once, after a wait; without an instrument nothing is answered', async () => {
    const node = withInstrument({})
    node.hear('TE6R>APZ001:?WX?')
    await node.wait(120)
    expect(node.sentTexts()).toEqual([expect.stringMatching(/^@.*_360\/004g/)])
    const none = testNode({ options: { position } })
    none.hear('TE6R>APZ001:?WX?')
    await none.wait(120)
    expect(none.sentTexts()).toEqual([])
  })
})
