import { readFileSync } from 'node:fs'
import { expect } from 'vitest'
import { parsePayload } from '../../src/aprs/parse.js'
import { describeTimestamp } from '../../src/aprs/timestamp.js'
import type { AprsPayload, PositionDetails, Weather } from '../../src/aprs/types.js'

/*
 * The published pairs of string and value (aprs.json), and how their keys map onto our values. A
 * key that no check knows fails the test: nothing of the file passes unlooked-at.
 */

export interface Pair {
  readonly id: string
  readonly info: string | null
  readonly dest?: string
  readonly expect: Record<string, unknown>
  readonly source: string
  readonly status: string
  readonly group: string
}

export const published = JSON.parse(
  readFileSync(new URL('./aprs.json', import.meta.url), 'utf8'),
) as Record<string, unknown> & { pairs: Pair[] }

export const octetsOf = (text: string): Uint8Array => Uint8Array.from(Buffer.from(text, 'latin1'))
export const textOf = (octets: Uint8Array): string => Buffer.from(octets).toString('latin1')

export const parseInfo = (info: string, destination = 'APZ001'): AprsPayload =>
  parsePayload(octetsOf(info), destination)

export type Check = (actual: never, expected: never, pair: Pair) => void

/** Runs one check a key; all keys must be known. */
export function checkAll(pair: Pair, actual: unknown, checks: Record<string, unknown>): void {
  for (const [key, expected] of Object.entries(pair.expect)) {
    const check = checks[key] as ((a: unknown, e: unknown, p: Pair) => void) | undefined
    if (check === undefined) throw new Error(`${pair.id}: no check for '${key}'`)
    check(actual, expected, pair)
  }
}

/** A key that is prose, or said by another key too; the reason stands where it is used. */
export const prose = (): void => {}

export const knots = (kmh: number | undefined): number => (kmh ?? Number.NaN) / 1.852
export const miles = (km: number | undefined): number => (km ?? Number.NaN) / 1.609344
export const feet = (m: number | undefined): number => (m ?? Number.NaN) / 0.3048
export const mph = (mps: number | undefined): number => ((mps ?? Number.NaN) * 3600) / 1609.344

/** Null in the file is a value that is absent here. */
export function same(actual: unknown, expected: unknown): void {
  if (expected === null) expect(actual).toBeUndefined()
  else expect(actual).toEqual(expected)
}

export function near(actual: number | undefined, expected: number | null, digits = 5): void {
  if (expected === null) expect(actual).toBeUndefined()
  else expect(actual).toBeCloseTo(expected, digits)
}

/** Rounded in the file to the decimals it shows. */
const shown = (actual: number, expected: number): void =>
  near(actual, expected, decimalsOf(expected))
const decimalsOf = (value: number): number => (String(value).split('.')[1] ?? '').length

type Antenna = { power_w?: number; haat_ft: number; gain_db: number } & Record<string, unknown>

export function checkAntenna(
  actual: NonNullable<PositionDetails['antenna'] | PositionDetails['signal']>,
  expected: Antenna,
): void {
  for (const [key, value] of Object.entries(expected)) {
    if (key === 'power_w') expect('powerW' in actual && actual.powerW).toBe(value)
    else if (key === 'strength_s') expect('strengthS' in actual && actual.strengthS).toBe(value)
    else if (key === 'haat_ft') near(feet(actual.heightAboveTerrainM), value as number)
    else if (key === 'gain_db') expect(actual.gainDb).toBe(value)
    else if (key === 'dir_deg') expect(actual.directionDeg).toBe(value)
    else if (key === 'dir') expect(actual.directionDeg).toBe(value === 'E' ? 90 : value)
    else if (key === 'beacons_per_hour')
      expect(value).toBe('beaconsPerHour' in actual && actual.beaconsPerHour)
    else throw new Error(`no check for antenna '${key}'`)
  }
}

export function checkBearing(
  actual: PositionDetails['bearing'],
  expected: Record<string, unknown>,
): void {
  const bearing = actual!
  for (const [key, value] of Object.entries(expected)) {
    if (key === 'bearing') expect(bearing.bearingDeg).toBe(value)
    else if (key === 'N') expect(bearing.hits).toBe(value)
    else if (key === 'R') expect(bearing.rangeDigit).toBe(value)
    else if (key === 'range_mi') near(miles(bearing.rangeKm), value as number)
    else if (key === 'Q') expect(bearing.quality).toBe(value)
    else if (key === 'accuracy') expect(`< ${bearing.accuracyDeg} deg`).toBe(value)
    else throw new Error(`no check for bearing '${key}'`)
  }
}

type Placed = Extract<AprsPayload, { kind: 'position' | 'micE' | 'object' | 'item' }>

function checkArea(payload: Placed, expected: Record<string, unknown>): void {
  const area = payload.area!
  for (const [key, value] of Object.entries(expected)) {
    if (key === 'shape') expect(area.shape).toBe(value)
    else if (key === 'shape_name') expect(area.shapeName).toBe(value)
    else if (key === 'color') expect(area.color).toBe(value)
    else if (key === 'color_name') expect(area.colorName).toBe(value)
    else if (key === 'yy') expect(area.latitudeDigits).toBe(value)
    else if (key === 'xx') expect(area.longitudeDigits).toBe(value)
    else if (key === 'lat_offset_deg') near(area.latitudeOffsetDeg, value as number)
    else if (key === 'corridor_mi') near(miles(area.corridorKm), value as number)
    else throw new Error(`no check for area '${key}'`)
  }
}

function checkStorm(payload: Placed, expected: Record<string, unknown>): void {
  const storm = payload.storm!
  const nauticalMiles = (km: number | undefined): number => (km ?? Number.NaN) / 1.852
  expect(storm.stormKind).toBe(expected.kind)
  near(knots(storm.sustainedWindKmh), expected.sustained_kn as number)
  near(knots(storm.gustKmh), expected.gust_kn as number)
  expect(storm.pressureHpa).toBe(expected.pressure_hpa)
  near(nauticalMiles(storm.hurricaneRadiusKm), expected.r_hurricane_nm as number)
  near(nauticalMiles(storm.tropicalStormRadiusKm), expected.r_tropical_nm as number)
  near(nauticalMiles(storm.wholeGaleRadiusKm), expected.r_whole_gale_nm as number)
  expect(Object.keys(expected)).toHaveLength(7)
}

export function checkTelemetry(
  actual: PositionDetails['telemetry'],
  expected: { seq: string | number; analog: number[]; digital?: string },
): void {
  expect(actual?.sequence).toBe(String(expected.seq))
  expect(actual?.analog).toEqual(expected.analog)
  const bits = actual!.digital.map((bit) => (bit ? '1' : '0')).join('')
  expect(bits).toBe(expected.digital ?? '')
}

/** Keys of whatever has a place. */
export const positionChecks = {
  lat: (p: Placed, e: number) => near(p.position.latitudeDeg, e),
  lon: (p: Placed, e: number) => near(p.position.longitudeDeg, e),
  ambiguity: (p: Placed, e: number) => expect(p.position.ambiguityDigits).toBe(e),
  messaging: (p: Placed, e: boolean) => expect('messaging' in p && p.messaging).toBe(e),
  timestamp: (p: Placed, e: string | null) =>
    same(p.timestamp && describeTimestamp(p.timestamp), e),
  table: (p: Placed, e: string) => expect(p.position.symbol.table).toBe(e),
  // One row gives both characters.
  symbol: (p: Placed, e: string) => {
    const { table, code } = p.position.symbol
    expect(e.length === 2 ? table + code : code).toBe(e)
  },
  comment: (p: Placed, e: string) => expect(p.comment).toBe(e),
  altitude_ft: (p: Placed, e: number | null) => {
    if (e === null) expect(p.altitudeM).toBeUndefined()
    else expect(Math.trunc(feet(p.altitudeM) + 1e-9)).toBe(e)
  },
  altitude_m: (p: Placed, e: number) => expect(p.altitudeM).toBe(e),
  phg: (p: Placed, e: Antenna) => checkAntenna(p.antenna!, e),
  dfs: (p: Placed, e: Antenna) => checkAntenna(p.signal!, e),
  df: (p: Placed, e: Record<string, unknown>) => checkBearing(p.bearing, e),
  // Course 000 in the text: unknown, or a fixed station; absent here.
  df_station: (p: Placed) => expect(p.courseDeg).toBeUndefined(),
  course: (p: Placed, e: number) => same(p.courseDeg, e === 0 ? null : e),
  speed_kn: (p: Placed, e: number) => shown(knots(p.speedKmh), e),
  range_mi: (p: Placed, e: number) => expect(Math.round(miles(rangeOf(p)))).toBe(e),
  T: (p: Placed, e: number) => expect(p.compression?.value).toBe(e),
  nmea: (p: Placed, e: string) => expect(p.compression?.sentence).toBe(e),
  telemetry: (p: Placed, e: never) => checkTelemetry(p.telemetry, e),
  name: (p: Placed, e: string) => expect('name' in p && p.name).toBe(e),
  live: (p: Placed, e: boolean) => expect('live' in p && p.live).toBe(e),
  area: checkArea,
  storm: checkStorm,
  signpost: (p: Placed, e: string) => expect(p.signpost).toBe(e),
}

const rangeOf = (p: Placed): number | undefined => p.rangeKm ?? p.frequency?.rangeKm

type Report = { weather?: Weather; comment?: string }

/** Keys of weather values; wind by data extension counts in miles an hour here. */
export const weatherChecks = {
  wind_dir: (p: Report, e: number | null) => same(p.weather?.windDirectionDeg, e),
  wind_speed_mph: (p: Report, e: number | null) => nearOrAbsent(p.weather?.windSpeedMps, mph, e),
  // Of a compressed position: knots, by the formula of ch. 9.
  wind_speed: (p: Report, e: number | null) =>
    e === null
      ? expect(p.weather?.windSpeedMps).toBeUndefined()
      : near((p.weather!.windSpeedMps! * 3600) / 1852, e, 1),
  gust: (p: Report, e: number | null) => nearOrAbsent(p.weather?.windGustMps, mph, e),
  gust_mph: (p: Report, e: number | null) => nearOrAbsent(p.weather?.windGustMps, mph, e),
  temp_f: (p: Report, e: number | null) =>
    nearOrAbsent(p.weather?.temperatureC, (celsius) => (celsius * 9) / 5 + 32, e),
  rain_1h: (p: Report, e: number) => expect(p.weather?.rainLastHourMm).toBe(e),
  rain_24h: (p: Report, e: number) => expect(p.weather?.rainLastDayMm).toBe(e),
  rain_midnight: (p: Report, e: number) => expect(p.weather?.rainSinceMidnightMm).toBe(e),
  rain_midnight_in: (p: Report, e: number) => near(p.weather!.rainSinceMidnightMm! / 25.4, e),
  humidity_pct: (p: Report, e: number) => expect(p.weather?.humidityPercent).toBe(e),
  pressure_hpa: (p: Report, e: number | null) => same(p.weather?.pressureHpa, e),
  software: (p: Report, e: string) => expect(p.weather?.software).toBe(e),
  unit: (p: Report, e: string) => expect(p.weather?.instrument).toBe(e),
  rest: (p: Report, e: string) => expect(p.comment).toBe(e),
}

function nearOrAbsent(
  actual: number | undefined,
  convert: (value: number) => number,
  expected: number | null,
): void {
  if (expected === null) expect(actual).toBeUndefined()
  else near(convert(actual ?? Number.NaN), expected)
}
