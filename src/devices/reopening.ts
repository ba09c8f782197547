import type { Cancel, Clock } from '../runtime/clock.js'

export interface Waits {
  /** before the first new attempt, ms; doubled each time up to the longest */
  readonly first: number
  readonly longest: number
}

/** Something that is opened, started or tried anew until it works. */
export interface Reopening {
  /** Tries anew after the next wait; one attempt is booked at a time. */
  later(): void
  /** It works: the next wait is the first again. */
  sound(): void
  /** when the next attempt comes, monotonicMs; undefined while none is booked */
  readonly atMs: number | undefined
  /** No attempt is made that is booked now. */
  cancel(): void
}

/** The one way to try anew with growing waits: quickly after a hiccup, and gently with what stays away for weeks. */
export function createReopening(clock: Clock, waits: Waits, attempt: () => void): Reopening {
  let waitMs = waits.first
  let atMs: number | undefined
  let cancelBooked: Cancel = () => {}
  return {
    later() {
      cancelBooked()
      atMs = clock.monotonicMs() + waitMs
      waitMs = Math.min(2 * waitMs, waits.longest)
      cancelBooked = clock.at(atMs, () => {
        atMs = undefined
        attempt()
      })
    },
    sound() {
      waitMs = waits.first
    },
    get atMs() {
      return atMs
    },
    cancel() {
      atMs = undefined
      cancelBooked()
    },
  }
}
