import type { Cancel, Clock } from '../runtime/clock.js'

/** One timer: booked more than once, it runs at the earliest of these moments. */
export interface FlushTimer {
  /** @param afterMs from now; at most the flush interval, which is what is meant without it */
  book(afterMs?: number): void
  /** Nothing is booked. */
  clear(): void
  /** Nothing can be booked any more. */
  stop(): void
}

export function flushTimer(clock: Clock, flushIntervalMs: number, run: () => void): FlushTimer {
  let cancel: Cancel | undefined
  let bookedMs = Number.POSITIVE_INFINITY
  let stopped = false

  const clear = (): void => {
    cancel?.()
    cancel = undefined
    bookedMs = Number.POSITIVE_INFINITY
  }
  return {
    clear,
    book(afterMs = flushIntervalMs) {
      const atMs = clock.monotonicMs() + Math.min(afterMs, flushIntervalMs)
      if (stopped || atMs >= bookedMs) return
      clear()
      bookedMs = atMs
      cancel = clock.at(atMs, run)
    },
    stop() {
      stopped = true
      clear()
    },
  }
}
