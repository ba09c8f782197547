import geodesic from 'geographiclib-geodesic'
import { describe, expect, it } from 'vitest'
import { geodesicBetween } from '../../src/services/geo/geodesic.js'
import { compassWords } from '../../src/services/geo/words.js'
import { inEnglish } from '../../src/words/air/all.js'
import { geoSky } from './geoSky.js'

interface Pair {
  readonly id?: string
  readonly lat1: number
  readonly lon1: number
  readonly lat2: number
  readonly lon2: number
  readonly azi1: number | null
  readonly azi2: number | null
  readonly s12_m: number | null
  readonly tol?: string
  readonly recomputed?: { readonly azi1: number; readonly azi2: number; readonly s12_m: number }
}

const { rows_20, special, classic, local_pairs_computed } = geoSky.geodesic
const way = (pair: Pair) =>
  geodesicBetween(
    { latitudeDeg: pair.lat1, longitudeDeg: pair.lon1 },
    { latitudeDeg: pair.lat2, longitudeDeg: pair.lon2 },
  )

/** How far two bearings are apart, in degrees. */
const turn = (a: number, b: number): number => Math.abs(((a - b + 540) % 360) - 180)
const sexagesimal = (text: string): number => {
  const [degrees, minutes, seconds] = text.split(' ').map(Number)
  return degrees! + minutes! / 60 + seconds! / 3600
}

describe('geodesic rows of the GeographicLib test suite (C. Karney)', () => {
  it.each(rows_20 as Pair[])('$lat1 $lon1 to $lat2 $lon2', (row) => {
    const found = way(row)
    expect(Math.abs(found.distanceM - row.s12_m!)).toBeLessThanOrEqual(1e-8)
    // Turning a negative azimuth into 0 to 360 costs a rounding of 3e-14 degrees beside the suite's own 1e-13.
    expect(turn(found.bearingDeg, row.azi1!)).toBeLessThanOrEqual(1.5e-13)
    expect(turn(found.arrivalDeg, row.azi2!)).toBeLessThanOrEqual(1.5e-13)
  })
})

describe(`special geodesics: ${geoSky.geodesic.special_source}`, () => {
  it.each(special as Pair[])('$id', (row) => {
    const found = way(row)
    const metres = /([\d.e-]+) (mm|m)\b/.exec(row.tol ?? '')
    if (row.s12_m !== null) {
      const tolerance = Number(metres![1]) * (metres![2] === 'mm' ? 1e-3 : 1)
      expect(Math.abs(found.distanceM - row.s12_m)).toBeLessThanOrEqual(tolerance)
    }
    const angle = /([\d.e-]+) (deg|arcsec)/.exec(row.tol ?? '')
    // Rows without a tolerance of angle print exact quarter turns.
    const angleDeg = angle ? Number(angle[1]) / (angle[2] === 'arcsec' ? 3600 : 1) : 1e-9
    if (row.azi1 !== null) expect(turn(found.bearingDeg, row.azi1)).toBeLessThanOrEqual(angleDeg)
    if (row.azi2 !== null) expect(turn(found.arrivalDeg, row.azi2)).toBeLessThanOrEqual(angleDeg)
    if (row.recomputed === undefined) return
    // GeodSolve prints 6 decimals of a metre; the bearings of a line of 7 cm are worth less.
    expect(Math.abs(found.distanceM - row.recomputed.s12_m)).toBeLessThanOrEqual(1e-6)
    const printedDeg = row.id === 'short-line' ? 1e-6 : 1e-9
    expect(turn(found.bearingDeg, row.recomputed.azi1)).toBeLessThanOrEqual(printedDeg)
    expect(turn(found.arrivalDeg, row.recomputed.azi2)).toBeLessThanOrEqual(printedDeg)
  })
})

describe('classic line', () => {
  // Geocentric Datum of Australia Technical Manual (from memory): on GRS80, printed to 0.01" and 1 mm.
  it(classic.id, () => {
    const grs80 = new geodesic.Geodesic.Geodesic(6378137, 1 / 298.257222101)
    const line = grs80.Inverse(classic.lat1, classic.lon1, classic.lat2, classic.lon2)
    expect(Math.abs(line.s12! - classic.s12_m)).toBeLessThanOrEqual(0.0005)
    expect(turn(line.azi1!, sexagesimal(classic.azi1))).toBeLessThanOrEqual(0.005 / 3600)
    const reverse = sexagesimal(classic.azi2_at_2_towards_1)
    expect(turn(line.azi2! + 180, reverse)).toBeLessThanOrEqual(0.005 / 3600)
    expect(Math.abs(line.s12! - classic.recomputed.s12_m)).toBeLessThanOrEqual(1e-6)
    expect(turn(line.azi1!, classic.recomputed.azi1)).toBeLessThanOrEqual(1e-9)
    expect(turn(line.azi2!, classic.recomputed.azi2_forward)).toBeLessThanOrEqual(1e-9)
    // The two figures differ by 0.1 mm in the flattening: on WGS84 the line is the same to the millimetre.
    expect(Math.abs(way(classic).distanceM - classic.s12_m)).toBeLessThanOrEqual(0.001)
  })
})

describe(`local pairs: ${geoSky.geodesic.local_note}`, () => {
  const pairs = local_pairs_computed as (Pair & { wgs84_s12_m: number })[]
  it.each(pairs)('$lat1 $lon1 to $lat2 $lon2', (row) => {
    const found = way(row)
    expect(Math.abs(found.distanceM - row.wgs84_s12_m)).toBeLessThanOrEqual(0.0051)
    if (row.wgs84_s12_m > 0) expect(turn(found.bearingDeg, row.azi1!)).toBeLessThanOrEqual(5.1e-6)
  })
})

describe(`sixteen points: ${geoSky.compass16.rule}`, () => {
  const examples = geoSky.compass16.examples as { bearing: number; point: string }[]
  it.each(examples)('$bearing is $point', ({ bearing, point }) => {
    expect(compassWords(bearing, inEnglish)).toBe(point)
  })
})
