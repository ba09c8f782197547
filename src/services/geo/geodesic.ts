import geodesic from 'geographiclib-geodesic'
import { isRecord } from '../../runtime/isRecord.js'
import type { GeoPosition } from '../service.js'

/** Shortest way over the WGS84 ellipsoid from one place to another. */
export interface GreatWay {
  readonly distanceM: number
  /** at the start, from north, eastward: 0 (included) to 360 (excluded) */
  readonly bearingDeg: number
  /** direction of travel on arrival, likewise */
  readonly arrivalDeg: number
}

/**
 * Distance and bearing on WGS84, good to nanometres, near-antipodal pairs included.
 * Between equal places the bearing means nothing.
 * @see C. F. F. Karney, Algorithms for geodesics, J. Geodesy 87 (2013), by his library; checked in test/published/geodesy.test.ts
 */
export function geodesicBetween(from: GeoPosition, to: GeoPosition): GreatWay {
  const { s12, azi1, azi2 } = geodesic.Geodesic.WGS84.Inverse(
    from.latitudeDeg,
    from.longitudeDeg,
    to.latitudeDeg,
    to.longitudeDeg,
  )
  return {
    distanceM: s12 ?? 0,
    bearingDeg: northTurn(azi1 ?? 0),
    arrivalDeg: northTurn(azi2 ?? 0),
  }
}

/** Any angle as 0 (included) to 360 (excluded). */
export function northTurn(angleDeg: number): number {
  const turned = ((angleDeg % 360) + 360) % 360
  return turned === 360 ? 0 : turned
}

/** True for a place on earth. */
export function isPosition(latitudeDeg: number, longitudeDeg: number): boolean {
  return Math.abs(latitudeDeg) <= 90 && Math.abs(longitudeDeg) <= 180
}

/** The same of what was kept as JSON, and may have become anything. */
export const isKeptPosition = (value: unknown): value is GeoPosition =>
  isRecord(value) &&
  typeof value.latitudeDeg === 'number' &&
  typeof value.longitudeDeg === 'number' &&
  isPosition(value.latitudeDeg, value.longitudeDeg)
