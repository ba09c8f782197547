import { Body, Observer, SearchAltitude, SearchHourAngle, SearchRiseSet } from 'astronomy-engine'
import type { GeoPosition } from '../service.js'

/** Centre of the sun at civil dawn and dusk (definition). */
const civilTwilightDeg = -6

/** One day of the sun, milliseconds of 1970; undefined for what does not happen on it. */
export interface SunDay {
  readonly dawnWallMs: number | undefined
  readonly riseWallMs: number | undefined
  readonly noonWallMs: number
  readonly setWallMs: number | undefined
  readonly duskWallMs: number | undefined
  /** of the sun at noon, refraction included: tells polar day from polar night */
  readonly noonAltitudeDeg: number
}

/**
 * The sun's day around its noon (the highest point) that follows `fromWallMs` first.
 * Rise and set are those of the upper limb with 34 minutes of arc of refraction, at a level horizon.
 * @see astronomy-engine; checked in test/published/sun.test.ts
 */
export function sunDay(position: GeoPosition, fromWallMs: number): SunDay {
  // The height of the ground moves the horizon only if the land around is lower: not known, so not used.
  const observer = new Observer(position.latitudeDeg, position.longitudeDeg, 0)
  const noon = SearchHourAngle(Body.Sun, observer, 0, new Date(fromWallMs), 1)
  // Half a day on either side of noon belongs to it.
  const before = (found: { date: Date } | null): number | undefined => found?.date.getTime()
  const riseSet = (direction: 1 | -1): number | undefined =>
    before(SearchRiseSet(Body.Sun, observer, direction, noon.time, -0.5 * direction))
  const altitude = (direction: 1 | -1): number | undefined =>
    before(
      SearchAltitude(Body.Sun, observer, direction, noon.time, -0.5 * direction, civilTwilightDeg),
    )
  return {
    dawnWallMs: altitude(1),
    riseWallMs: riseSet(1),
    noonWallMs: noon.time.date.getTime(),
    setWallMs: riseSet(-1),
    duskWallMs: altitude(-1),
    noonAltitudeDeg: noon.hor.altitude,
  }
}
