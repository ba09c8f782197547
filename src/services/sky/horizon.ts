import { gstime } from 'satellite.js'
import { type ElementSet, julianDayOf } from './elementSet.js'
import type { Observer } from './look.js'
import { earthRadiusKm, fastestTurnRadPerMin, roughPlace, semiMajorAxisOf } from './roughOrbit.js'

/** What an observer's horizon allows, told cheaply and on the safe side: without a pass being missed. */
export interface Horizon {
  /** whether the satellite can ever stand so high here */
  reaches(set: ElementSet, elevationDeg: number): boolean
  /**
   * Until when, at least, it neither rises nor sets.
   * @returns the given time where that cannot be ruled out from then on
   */
  steadyUntil(set: ElementSet, wallMs: number): number
}

const degree = Math.PI / 180
const earthTurnRadPerMin = 2 * Math.PI * (1.00273790935 / 1440)
/** A horizon is level with the ellipsoid; from the direction to the earth's centre that differs by up to 0.193 degrees. */
const deflectionRad = 0.2 * degree
/** Periodic terms of the distance: some ten kilometres for low satellites (found in trials). */
const distanceMarginKm = 40
/** Of the fastest turn, for what drag and periodic terms add in a day. */
const turnMargin = 1.08
/** Of the highest latitude: the pull of sun and moon tilts slow orbits by a degree in a year, periodic terms less. */
const tiltMarginRad = 1 * degree

// WGS84
const equatorKm = 6378.137
const flattening = 1 / 298.257223563

export function horizonOf(observer: Observer): Horizon {
  const { latitudeRad, radiusKm } = geocentric(observer)
  const longitudeRad = observer.longitudeDeg * degree
  const cosLatitude = Math.cos(latitudeRad)
  const sinLatitude = Math.sin(latitudeRad)

  const highestKm = (set: ElementSet): number =>
    semiMajorAxisOf(set) * earthRadiusKm * (1 + set.eccentricity) + distanceMarginKm
  const lowestKm = (set: ElementSet): number =>
    semiMajorAxisOf(set) * earthRadiusKm * (1 - set.eccentricity) - distanceMarginKm
  /** At that distance from the centre it stands so high when it is this far off along the ground; below 0 for never. */
  const groundAngle = (distanceKm: number, elevationRad: number): number => {
    const share = (radiusKm / distanceKm) * Math.cos(elevationRad)
    return share >= 1 ? -Math.PI : Math.acos(share) - elevationRad
  }

  return {
    reaches(set, elevationDeg) {
      const { inclinationRad } = set
      const highestLatitude = Math.min(inclinationRad, Math.PI - inclinationRad) + tiltMarginRad
      const reach = groundAngle(highestKm(set), elevationDeg * degree - deflectionRad)
      return Math.abs(latitudeRad) - highestLatitude <= reach
    },
    steadyUntil(set, wallMs) {
      const place = roughPlace(set, wallMs)
      if (place === undefined) return wallMs
      const siderealRad = gstime(julianDayOf(wallMs)) + longitudeRad
      const cosAway =
        cosLatitude * (Math.cos(siderealRad) * place.x + Math.sin(siderealRad) * place.y) +
        sinLatitude * place.z
      const away = Math.acos(Math.max(-1, Math.min(1, cosAway)))
      const outside = away - groundAngle(highestKm(set), -deflectionRad)
      const inside = groundAngle(lowestKm(set), deflectionRad) - away
      const room = Math.max(outside, inside) - place.uncertaintyRad
      if (room <= 0) return wallMs
      const turn = fastestTurnRadPerMin(set) * turnMargin + earthTurnRadPerMin
      return wallMs + (room / turn) * 60_000
    },
  }
}

/** The observer as seen from the centre of the earth. */
function geocentric({ latitudeDeg, heightM }: Observer): { latitudeRad: number; radiusKm: number } {
  const latitude = latitudeDeg * degree
  const e2 = flattening * (2 - flattening)
  const normalKm = equatorKm / Math.sqrt(1 - e2 * Math.sin(latitude) ** 2)
  const outKm = (normalKm + heightM / 1000) * Math.cos(latitude)
  const upKm = (normalKm * (1 - e2) + heightM / 1000) * Math.sin(latitude)
  return { latitudeRad: Math.atan2(upKm, outKm), radiusKm: Math.hypot(outKm, upKm) }
}
