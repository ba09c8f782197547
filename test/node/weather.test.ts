import { describe, expect, it } from 'vitest'
import { parsePayload } from '../../src/aprs/parse.js'
import { parseConfig } from '../../src/config/load.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { createServices } from '../../src/services/all.js'
import type { WeatherReading } from '../../src/services/weather/reading.js'
import { serviceOptions } from '../../src/setup/serviceOptions.js'
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

  it('whatever lies outside, who asks for the weather gets an answer that has no such figure', async () => {
    const clock = virtualClock(Date.UTC(2026, 5, 21, 16))
    const open = createServices(serviceOptions(parseConfig('', 'test'), '.', clock, () => {}))
    await open.ready
    const said = async (...values: readonly string[]): Promise<string> => {
      const node = testNode({ options: { position }, services: open.services, clock })
      node.hear('N0CALL-8>APZ001:=4903.50N/07201.75W_')
      node.hear(`N0CALL-8>APZ001:_10090556c...${values.join('')}`)
      node.ask('Q1KIT-9', 'weather')
      await node.wait(20)
      node.node.stop()
      return node
        .sentTexts()
        .map((text) => text.slice(11))
        .join(' ')
    }
    for (const [field, within, beyond] of steps) {
      const told = await said(within)
      expect(told, `${field} ${within}`).toMatch(/N0CALL-8 .*: \S/)
      if (beyond === undefined) continue
      expect(await said(beyond), `${field} ${beyond}`).toMatch(
        /^No weather heard in the last 2h within 150km\./,
      )
      // The others of the same report are told without it.
      const others = beyond.startsWith('h') ? 't060' : 'h50'
      const rest = await said(beyond, others)
      expect(rest, `${field} ${beyond}`).toMatch(/N0CALL-8 .*: (humidity 50%|15\.6C)/)
    }
    await open.close()
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
