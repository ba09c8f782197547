import { Body, Illumination, MoonPhase, SearchMoonQuarter } from 'astronomy-engine'

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
