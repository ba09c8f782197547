import { ecfToLookAngles, eciToEcf, gstime, sgp4 } from 'satellite.js'
import { northTurn } from '../geo/geodesic.js'
import type { GeoPosition } from '../service.js'
import { type ElementSet, julianDayOf } from './elementSet.js'

export interface Observer extends GeoPosition {
  /** over the WGS84 ellipsoid */
  readonly heightM: number
}

/** Where a satellite stands in the sky; geometric, without refraction. */
export interface Look {
  /** from north, eastward */
  readonly azimuthDeg: number
  readonly elevationDeg: number
  readonly rangeKm: number
}

const degrees = 180 / Math.PI

/**
 * SGP4 with WGS72 constants to TEME, by mean sidereal time to the turning earth, to the observer's horizon.
 * @returns gives undefined when SGP4 gives no place for this time (decayed, or elements out of range)
 * @see Vallado and others, AIAA 2006-6753; checked in test/published/{sgp4,passes}.test.ts
 */
export function looksFrom(
  set: ElementSet,
  observer: Observer,
): (wallMs: number) => Look | undefined {
  const record = set.record()
  const place = {
    latitude: observer.latitudeDeg / degrees,
    longitude: observer.longitudeDeg / degrees,
    height: observer.heightM / 1000,
  }
  return (wallMs) => {
    const state = sgp4(record, (wallMs - set.epochWallMs) / 60_000)
    if (!state || record.error !== 0) return undefined
    const sidereal = gstime(julianDayOf(wallMs))
    const look = ecfToLookAngles(place, eciToEcf(state.position, sidereal))
    return {
      azimuthDeg: northTurn(look.azimuth * degrees),
      elevationDeg: look.elevation * degrees,
      rangeKm: look.rangeSat,
    }
  }
}

/** One look alone. */
export const lookAt = (set: ElementSet, observer: Observer, wallMs: number): Look | undefined =>
  looksFrom(set, observer)(wallMs)

/** Periods from here on are deep space for SGP4 (Spacetrack Report No. 3, from memory): slow in the sky. */
export const slowPeriodMs = 225 * 60_000

/** Time of one revolution. */
export const periodMsOf = (set: ElementSet): number =>
  ((2 * Math.PI) / set.meanMotionRadPerMin) * 60_000
