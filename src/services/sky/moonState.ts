import {
  Body,
  Illumination,
  MoonPhase,
  Observer,
  SearchMoonPhase,
  SearchMoonQuarter,
  SearchRiseSet,
} from 'astronomy-engine'
import type { GeoPosition } from '../service.js'

const moonQuarters = ['new', 'first quarter', 'full', 'last quarter'] as const

export interface MoonState {
  /** lit share of the disc, 0 to 1 */
  readonly litShare: number
  readonly waxing: boolean
  readonly next: { readonly quarter: (typeof moonQuarters)[number]; readonly wallMs: number }
}

/** @see astronomy-engine; checked in test/published/moon.test.ts */
export function moonState(wallMs: number): MoonState {
  const date = new Date(wallMs)
  const next = SearchMoonQuarter(date)
  return {
    litShare: Illumination(Body.Moon, date).phase_fraction,
    waxing: MoonPhase(date) < 180,
    next: { quarter: moonQuarters[next.quarter]!, wallMs: next.time.date.getTime() },
  }
}

/** The moon of one day, and its next full and new; milliseconds of 1970. Undefined for what does not happen within the day. */
export interface MoonDay {
  readonly riseWallMs: number | undefined
  readonly setWallMs: number | undefined
  readonly fullWallMs: number
  readonly newWallMs: number
}

/** Longer than any lunation. */
const lunationDaysMax = 31

/** @see astronomy-engine; checked in test/published/moon.test.ts */
export function moonDay(position: GeoPosition, fromWallMs: number): MoonDay {
  const from = new Date(fromWallMs)
  const observer = new Observer(position.latitudeDeg, position.longitudeDeg, 0)
  const first = (direction: 1 | -1): number | undefined =>
    SearchRiseSet(Body.Moon, observer, direction, from, 1)?.date.getTime()
  const phase = (longitudeDeg: number): number =>
    SearchMoonPhase(longitudeDeg, from, lunationDaysMax)!.date.getTime()
  return { riseWallMs: first(1), setWallMs: first(-1), fullWallMs: phase(180), newWallMs: phase(0) }
}
