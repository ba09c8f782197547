import type { Cancel, Clock } from '../runtime/clock.js'

/** Does something now, and again when it says so; what it sets off itself does not make it begin anew. */
export interface Lookout {
  look(): void
  stop(): void
}

/** A forecast that is right to the microsecond would look again and again within one. */
const againMsMin = 50

/** @param act @returns when to act again, monotonic; Infinity for when `look` is called next */
export function lookout(clock: Clock, act: () => number): Lookout {
  let acting = false
  let stopped = false
  let cancel: Cancel = () => {}
  const look = (): void => {
    if (acting || stopped) return
    acting = true
    cancel()
    let againMs = Number.POSITIVE_INFINITY
    try {
      againMs = act()
    } finally {
      acting = false
    }
    if (againMs !== Infinity)
      cancel = clock.at(Math.max(againMs, clock.monotonicMs() + againMsMin), look)
  }
  return {
    look,
    stop() {
      stopped = true
      cancel()
    },
  }
}
