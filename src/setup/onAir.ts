import type { Keying } from '../store/keyings.js'

/**
 * The largest share of any window of that length that something was on the air, 0 to 1.
 * @param keyings oldest first
 */
export function busiestShare(keyings: readonly Keying[], windowMs: number): number {
  let busiest = 0
  let first = 0
  let inside = 0
  // The busiest window ends where a transmission ends: what begins before it counts in part.
  for (const { atWallMs, durationMs } of keyings) {
    inside += durationMs
    const fromMs = atWallMs + durationMs - windowMs
    while (first < keyings.length && endOf(keyings[first]!) <= fromMs)
      inside -= keyings[first++]!.durationMs
    const cut = Math.max(0, fromMs - keyings[first]!.atWallMs)
    busiest = Math.max(busiest, (inside - cut) / windowMs)
  }
  return Math.min(1, busiest)
}

const endOf = ({ atWallMs, durationMs }: Keying): number => atWallMs + durationMs

export const totalMs = (keyings: readonly Keying[]): number =>
  keyings.reduce((sum, { durationMs }) => sum + durationMs, 0)

/** What a station did around a moment. */
export interface OnAirAnswer {
  /** it was on in the minute that begins then */
  readonly during: readonly Keying[]
  /** the last one that had ended before, and the next one after */
  readonly before: Keying | undefined
  readonly after: Keying | undefined
  /** in half an hour before and after */
  readonly around: readonly Keying[]
}

export const minuteMs = 60_000
/** So much is looked at on each side of the moment. */
export const aroundMs = 30 * minuteMs

/** @param keyings at least of aroundMs on each side, oldest first */
export function onAirAt(keyings: readonly Keying[], wallMs: number): OnAirAnswer {
  const around = keyings.filter(
    (one) => endOf(one) > wallMs - aroundMs && one.atWallMs < wallMs + aroundMs,
  )
  return {
    around,
    during: around.filter((one) => endOf(one) > wallMs && one.atWallMs < wallMs + minuteMs),
    before: around.findLast((one) => endOf(one) <= wallMs),
    after: around.find((one) => one.atWallMs >= wallMs + minuteMs),
  }
}
