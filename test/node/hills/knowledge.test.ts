import { describe, expect, it } from 'vitest'
import {
  type Knowledge,
  knowledge,
  stationsText,
  weatherText,
} from '../../../src/node/hills/knowledge.js'
import type { HeardStation, HeardWeather, StationsView } from '../../../src/services/service.js'

const minuteMs = 60_000
const nowMs = Date.UTC(2026, 5, 21, 16)

const station = (call: string, minutesAgo: number, more: Partial<HeardStation> = {}) => ({
  ...{ call, lastHeardWallMs: nowMs - minutesAgo * minuteMs, via: ['direct'], frameCount: 1 },
  ...more,
})
const report = (more: Partial<HeardWeather> = {}): HeardWeather => ({
  ...{ call: 'Q3WX', atWallMs: nowMs - 5 * minuteMs, temperatureC: 12 },
  ...more,
})
const place = { latitudeDeg: 47.1025, longitudeDeg: -11.205 }
const placed = { ...place, atWallMs: nowMs }

describe('what is told of stations', () => {
  it('is a line for each: call, minutes, place where it is known', () => {
    const heard = [
      station('Q3LAP-9', 12, { position: placed }),
      station('Q4BOB', 0),
      station('Q5DUE', 3.6),
    ]
    expect(stationsText(heard, nowMs)).toBe('Q3LAP-9 12 47.10250 -11.20500\nQ4BOB 0\nQ5DUE 4')
    expect(stationsText([], nowMs)).toBe('')
  })

  it('has no minutes below zero, nor above a week', () => {
    const heard = [station('Q1AAA', -60), station('Q2BBB', 10_080), station('Q3CCC', 10_081)]
    expect(stationsText(heard, nowMs)).toBe('Q1AAA 0\nQ2BBB 10080\nQ3CCC 10080')
  })

  it('is of the first sixty', () => {
    const heard = Array.from({ length: 61 }, (_, at) => station(`Q${at}AB`, 0))
    const lines = stationsText(heard, nowMs).split('\n')
    expect(lines).toHaveLength(60)
    expect(lines.at(-1)).toBe('Q59AB 0')
  })
})

describe('what is told of the weather', () => {
  it('is each figure behind its letter, to a tenth; a group of nothing is left out', () => {
    const all = report({
      ...{ position: place, temperatureC: -12.54, windDirectionDeg: 270, windSpeedMps: 3.06 },
      ...{ windGustMps: 6, rainLastHourMm: 0.2, rainLastDayMm: 4.1, humidityPercent: 80 },
      pressureHpa: 1013.25,
    })
    const told = 'Q3WX 5 47.10250 -11.20500 T-12.5 W270,3.1,6 R0.2,4.1 H80 P1013.3'
    expect(weatherText([all], nowMs)).toBe(told)
    expect(weatherText([report()], nowMs)).toBe('Q3WX 5 T12')
    const some = report({ temperatureC: undefined, windGustMps: 6, rainLastHourMm: 0 })
    expect(weatherText([some], nowMs)).toBe('Q3WX 5 W,,6 R0,')
    expect(weatherText([all, some], nowMs)).toBe(`${told}\nQ3WX 5 W,,6 R0,`)
  })

  it('says nothing of a report without figures', () => {
    const none = report({ temperatureC: undefined, position: place })
    expect(weatherText([none], nowMs)).toBe('')
    expect(weatherText([none, report({ call: 'Q4WX' })], nowMs)).toBe('Q4WX 5 T12')
  })

  it('is of the first sixty', () => {
    const heard = Array.from({ length: 61 }, (_, at) => report({ call: `Q${at}WX` }))
    const lines = weatherText(heard, nowMs).split('\n')
    expect(lines).toHaveLength(60)
    expect(lines.at(-1)).toBe('Q59WX 5 T12')
  })
})

const signalsAsked: string[] = []
/** A node's own view that heard what it is given. */
const viewOf = (
  heard: readonly HeardStation[],
  weather: readonly HeardWeather[],
): StationsView => ({
  find: (call) => heard.find((one) => one.call === call.toUpperCase()),
  recent: (count) => heard.slice(0, count),
  weather: () => weather,
  signals: (call, count) => {
    signalsAsked.push(`${call} ${count}`)
    return []
  },
})
const nobody = viewOf([], [])

const make = (): Knowledge => knowledge({ wallMs: () => nowMs })
const told = (kind: 'stations' | 'weather', ...lines: readonly string[]): Knowledge => {
  const known = make()
  known.take('Q1FAR', kind, lines.join('\n'), nowMs)
  return known
}
const hourMs = 60 * minuteMs
const weatherOf = (known: Knowledge) => known.view(nobody).weather(8 * 24 * hourMs)

describe('what is known of stations elsewhere', () => {
  it('is who heard them, when, and where they were', () => {
    const known = told('stations', 'Q3LAP-9 12 47.10250 -11.20500', 'Q4BOB 0')
    const lap = { call: 'Q3LAP-9', node: 'Q1FAR', heardWallMs: nowMs - 12 * minuteMs }
    expect(known.find('Q3LAP-9')).toEqual({ ...lap, ...place })
    expect(known.find('Q4BOB')).toEqual({ call: 'Q4BOB', node: 'Q1FAR', heardWallMs: nowMs })
    expect(known.find('Q5NIL')).toBeUndefined()
  })

  it('is found without SSID as the one heard last, with SSID only as itself', () => {
    const known = told('stations', 'Q3LAP-9 12', 'Q3LAP-7 5', 'Q3LAP-1 20', 'Q3LAPP 1')
    expect(known.find('Q3LAP')?.call).toBe('Q3LAP-7')
    expect(known.find('Q3LAP-9')?.call).toBe('Q3LAP-9')
    expect(known.find('Q3LAP-8')).toBeUndefined()
    expect(told('stations', 'Q3LAP-7 5', 'Q3LAP 20').find('Q3LAP')?.call).toBe('Q3LAP')
    expect(told('stations', 'Q3LAP 20').find('Q3LAP-7')).toBeUndefined()
  })

  it('is what the node says that heard it last; the same node may take back', () => {
    const known = told('stations', 'Q3LAP-9 10')
    known.take('Q2MID', 'stations', 'Q3LAP-9 11', nowMs)
    expect(known.find('Q3LAP-9')?.node).toBe('Q1FAR')
    known.take('Q2MID', 'stations', 'Q3LAP-9 10', nowMs)
    expect(known.find('Q3LAP-9')?.node).toBe('Q2MID')
    known.take('Q2MID', 'stations', 'Q3LAP-9 30', nowMs)
    expect(known.find('Q3LAP-9')?.heardWallMs).toBe(nowMs - 30 * minuteMs)
  })

  it.each([
    ...['', 'Q3LAP', 'Q3LAP ', 'q3lap 5', 'LAP 5', 'Q3LAP-16 5', 'Q3LAP 10081', 'Q3LAP 100000'],
    ...['Q3LAP -1', 'Q3LAP 5x', 'Q3LAP x5', 'Q3LAP 5 47.1', 'Q3LAP 5 47.1 11.2 T12', 'Q3LAP 5 T12'],
    ...['Q3LAP 5 47.1 11.1234567', 'Q3LAP 5 47.1 1234.5', 'Q3LAP 5 47 11', 'Q3LAP 5 x47.1 11.2'],
    ...['Q3LAP 5 47.1 11.2x', 'Q3LAP 5 47.1 east', 'Q3LAP 5 90.1 11.2', 'Q3LAP 5 -90.1 11.2'],
    ...['Q3LAP 5 47.1 180.1', 'Q3LAP 5 47.1 -180.1', 'Q3LAP  5', ' Q3LAP 5', 'Q3LAP 5 '],
    ...['Q3LAP 5 .1 11.2', 'Q3LAP 5 47. 11.2', 'Q3LAP 5 4-7.1 11.2'],
  ])('%j says nothing', (line) => {
    const known = told('stations', line, 'Q4BOB 1')
    expect(known.find('Q3LAP')).toBeUndefined()
    expect(known.find('LAP')).toBeUndefined()
    expect(known.find('Q4BOB')).toBeDefined()
  })

  it.each([
    ['Q3LAP 10080', 10_080, {}],
    ['Q3LAP 5 90.0 180.0', 5, { latitudeDeg: 90, longitudeDeg: 180 }],
    ['Q3LAP 5 -90.0 -180.0', 5, { latitudeDeg: -90, longitudeDeg: -180 }],
    ['Q3LAP 5 0.123456 7.1', 5, { latitudeDeg: 0.123456, longitudeDeg: 7.1 }],
  ])('%j is taken', (line, minutes, where) => {
    const heardWallMs = nowMs - minutes * minuteMs
    expect(told('stations', line).find('Q3LAP')).toEqual({
      ...{ call: 'Q3LAP', node: 'Q1FAR', heardWallMs },
      ...where,
    })
  })

  it('is of sixty lines of one node, and of two thousand stations, the newest', () => {
    const lines = Array.from({ length: 61 }, (_, at) => `Q${at}AB 0`)
    const known = told('stations', ...lines)
    expect(known.find('Q59AB')).toBeDefined()
    expect(known.find('Q60AB')).toBeUndefined()
    const full = make()
    for (let at = 0; at < 2_001; at++) full.take('Q1FAR', 'stations', `Q${at}A 0`, nowMs)
    expect(full.find('Q0A')).toBeUndefined()
    expect(full.find('Q1A')).toBeDefined()
  })
})

describe('what is known of the weather elsewhere', () => {
  it('is taken with every figure, and told as it came', () => {
    const line = 'Q3WX 5 47.10250 -11.20500 T-12.5 W270,3.1,6 R0.2,4.1 H80 P1013.3'
    const [taken, ...more] = weatherOf(told('weather', line))
    expect(more).toEqual([])
    expect(taken).toEqual({
      ...{ call: 'Q3WX', node: 'Q1FAR', atWallMs: nowMs - 5 * minuteMs, position: place },
      ...{ temperatureC: -12.5, windDirectionDeg: 270, windSpeedMps: 3.1, windGustMps: 6 },
      ...{ rainLastHourMm: 0.2, rainLastDayMm: 4.1, humidityPercent: 80, pressureHpa: 1013.3 },
    })
    expect(weatherText([taken!], nowMs)).toBe(line)
  })

  it('is taken with figures that are left out, and without a place', () => {
    const atWallMs = nowMs - 5 * minuteMs
    expect(weatherOf(told('weather', 'Q3WX 5 W,,6 R0,'))).toEqual([
      { call: 'Q3WX', node: 'Q1FAR', atWallMs, windGustMps: 6, rainLastHourMm: 0 },
    ])
  })

  it.each([
    ...['Q3WX 5', 'Q3WX 5 47.1 11.2', 'Q3WX 5 T', 'Q3WX 5 W,,', 'Q3WX 5 X12', 'Q3WX 5 12'],
    ...[
      'Q3WX 5 T12,3',
      'Q3WX 5 W270,3',
      'Q3WX 5 W1,2,3,4',

      'Q3WX 5 Tx',
      'q3wx 5 T1',
    ],
    ...['Q3WX 5 T1.25', 'Q3WX 5 T1.', 'Q3WX 5 P10130', 'Q3WX 5 T61', 'Q3WX 5 T12 H101', 'WX 5 T12'],
    ...['Q3WX 5 T--1', 'Q3WX 5 T1e1', 'Q3WX 5 T12 ', 'Q3WX 5 47.1 T12', 'Q3WX 5 xT1', 'Q3WX 5 T1x'],
    ...['Q3WX 5 Tx1', 'Q3WX 10081 T12'],
  ])('%j says nothing', (line) => {
    expect(weatherOf(told('weather', line, 'Q4WX 5 T12')).map(({ call }) => call)).toEqual(['Q4WX'])
  })

  it('of a station is what came last', () => {
    const known = told('weather', 'Q3WX 5 T12', 'Q4WX 5 T1')
    known.take('Q2MID', 'weather', 'Q3WX 9 T13', nowMs)
    expect(weatherOf(known).map(({ call, temperatureC }) => [call, temperatureC])).toEqual([
      ['Q4WX', 1],
      ['Q3WX', 13],
    ])
  })
})

describe('what services see of stations', () => {
  it('is what was heard here first, then what others heard, which says by whom', () => {
    const known = told('stations', 'Q3LAP-9 12 47.10250 -11.20500', 'Q4BOB 0', 'Q5OWN 0')
    const own = station('Q5OWN', 90)
    const view = known.view(viewOf([own], []))
    expect(view.find('Q5OWN')).toBe(own)
    const lastHeardWallMs = nowMs - 12 * minuteMs
    expect(view.find('q3lap-9')).toEqual({
      ...{ call: 'Q3LAP-9', lastHeardWallMs, via: ['Q1FAR'], frameCount: 1 },
      position: { ...place, atWallMs: lastHeardWallMs },
    })
    expect(view.find('Q4BOB')).toEqual({
      ...{ call: 'Q4BOB', lastHeardWallMs: nowMs, via: ['Q1FAR'], frameCount: 1 },
    })
    expect(view.find('Q6NIL')).toBeUndefined()
  })

  it('are recent ones and signals of this node alone', () => {
    const known = told('stations', 'Q3LAP-9 12')
    const heard = [station('Q5OWN', 1), station('Q6OWN', 2)]
    const view = known.view(viewOf(heard, []))
    expect(view.recent(1)).toEqual([heard[0]])
    expect(view.signals('Q5OWN', 7)).toEqual([])
    expect(signalsAsked).toEqual(['Q5OWN 7'])
  })

  it('is weather of both, of each station once, not older than was asked for, nor of a time to come', () => {
    const known = told('weather', 'Q3WX 60 T1', 'Q4WX 61 T2', 'Q5WX 5 T3')
    known.take('Q1FAR', 'weather', 'Q6WX 0 T4', nowMs + minuteMs)
    const own = report({ call: 'Q5WX', temperatureC: 30 })
    const seen = known.view(viewOf([], [own])).weather(hourMs)
    expect(seen.map(({ call, temperatureC }) => [call, temperatureC])).toEqual([
      ['Q5WX', 30],
      ['Q3WX', 1],
    ])
  })
})
