import {
  ecfToLookAngles,
  eciToEcf,
  geodeticToEcf,
  gstime,
  sgp4,
  twoline2satrec,
} from 'satellite.js'
import { describe, expect, it } from 'vitest'
import { twoLineChecksum } from '../../src/services/sky/twoLine.js'
import { geoSky } from './geoSky.js'

interface Row {
  readonly t_min: number
  readonly r_km: readonly number[]
  readonly v_km_s: readonly number[]
}
interface Case {
  readonly satellite: number
  readonly what: string
  readonly line1: string
  readonly line2: string
  readonly rows: readonly Row[]
}

const { cases, error_cases, tle_checksum_examples, suggested_tolerance, source } = geoSky.sgp4
const gap = (found: { x: number; y: number; z: number }, expected: readonly number[]): number =>
  Math.max(
    Math.abs(found.x - expected[0]!),
    Math.abs(found.y - expected[1]!),
    Math.abs(found.z - expected[2]!),
  )

describe(`SGP4: ${source}`, () => {
  it.each(cases as Case[])('$satellite: $what', ({ line1, line2, rows }) => {
    const record = twoline2satrec(line1, line2)
    for (const row of rows) {
      const state = sgp4(record, row.t_min)!
      expect(record.error).toBe(0)
      expect(gap(state.position, row.r_km)).toBeLessThanOrEqual(suggested_tolerance.r_km)
      expect(gap(state.velocity, row.v_km_s)).toBeLessThanOrEqual(suggested_tolerance.v_km_s)
    }
  })

  it.each(
    error_cases as {
      satellite: number
      line1: string
      line2: string
      codes_by_minute: [number, number][]
    }[],
  )('$satellite ends in its error', ({ line1, line2, codes_by_minute }) => {
    const record = twoline2satrec(line1, line2)
    const found = codes_by_minute.map(([minutes]) => {
      sgp4(record, minutes)
      return [minutes, record.error]
    })
    expect(found).toEqual(codes_by_minute)
  })

  it.each(cases as Case[])('the checksums of $satellite are as printed', ({ line1, line2 }) => {
    expect([twoLineChecksum(line1), twoLineChecksum(line2)]).toEqual([
      Number(line1[68]),
      Number(line2[68]),
    ])
  })

  it('every example of the checksum whose lines are given has the figure of the list', () => {
    const lines = new Map((cases as Case[]).map((one) => [one.satellite, one]))
    let compared = 0
    for (const example of tle_checksum_examples) {
      expect(String(example.line1_computed)).toBe(example.line1_printed)
      expect(String(example.line2_computed)).toBe(example.line2_printed)
      const set = lines.get(example.satellite)
      if (set === undefined) continue
      compared++
      expect(twoLineChecksum(set.line1)).toBe(example.line1_computed)
      expect(twoLineChecksum(set.line2)).toBe(example.line2_computed)
    }
    expect(compared).toBe(8)
  })
})

describe('from the inertial frame to the observer', () => {
  const degrees = 180 / Math.PI
  const [look, place] = geoSky.topocentric

  it(`look angles: ${look.source}`, () => {
    const [x, y, z] = look.satellite_eci_km
    const fixed = eciToEcf({ x, y, z }, gstime(new Date(look.utc)))
    const found = ecfToLookAngles(
      {
        latitude: look.observer.lat / degrees,
        longitude: look.observer.lon / degrees,
        height: look.observer.alt_km,
      },
      fixed,
    )
    // The source's observer stands on the WGS72 figure, the library's on WGS84: 2 m, or 0.001 degrees at 400 km.
    expect(Math.abs(found.azimuth * degrees - look.azimuth_deg)).toBeLessThanOrEqual(0.02)
    expect(Math.abs(found.elevation * degrees - look.elevation_deg)).toBeLessThanOrEqual(0.01)
    expect(Math.abs(found.rangeSat - look.recomputed.range_km)).toBeLessThanOrEqual(0.05)
  })

  it(`place of an observer: ${place.source}`, () => {
    const gmst = gstime(new Date(place.utc))
    expect(Math.abs(gmst - place.gmst_rad)).toBeLessThanOrEqual(5e-7)
    const fixed = geodeticToEcf({
      latitude: place.observer.lat / degrees,
      longitude: place.observer.lon / degrees,
      height: 0,
    })
    const cosine = Math.cos(gmst)
    const sine = Math.sin(gmst)
    const found = {
      x: fixed.x * cosine - fixed.y * sine,
      y: fixed.x * sine + fixed.y * cosine,
      z: fixed.z,
    }
    expect(gap(found, place.eci_km)).toBeLessThanOrEqual(0.005)
  })

  it('mean sidereal time: Meeus examples 12.a and 12.b (from memory)', () => {
    for (const { utc, gmst } of geoSky.sidereal) {
      const [, hours, minutes, seconds] = /(\d+)h(\d+)m([\d.]+)s/.exec(gmst)!
      const expected = Number(hours) * 3600 + Number(minutes) * 60 + Number(seconds)
      const found = (gstime(new Date(`${utc}Z`)) * 86_400) / (2 * Math.PI)
      // A julian day in double precision is good to 40 microseconds; the figures are printed to 0.1 ms.
      expect(Math.abs(found - expected)).toBeLessThanOrEqual(1e-4)
    }
  })
})
