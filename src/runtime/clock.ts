/** Cancels what it was returned for; harmless when called late or twice. */
export type Cancel = () => void

/**
 * The only way below cli/ to know the time or to be called later.
 * Durations come from monotonicMs, stamps from wallMs; a wall clock may jump, the monotonic one never does.
 */
export interface Clock {
  /** milliseconds since an arbitrary moment, never going back; the same in every thread of the process */
  monotonicMs(): number
  /** milliseconds since 1970-01-01T00:00:00Z, as the machine believes */
  wallMs(): number
  /**
   * Calls `run` once, when monotonicMs reaches `atMonotonicMs` (at once, asynchronously, when that is past).
   * @param keepsAlive the process does not end before; true unless said otherwise
   */
  at(atMonotonicMs: number, run: () => void, options?: { readonly keepsAlive?: boolean }): Cancel
}

/** Lets others have the thread, for so long at least. */
export const pause = (clock: Clock, ms: number): Promise<void> =>
  new Promise((resolve) => {
    clock.at(clock.monotonicMs() + ms, resolve)
  })

/** Calls `run` every `intervalMs` until cancelled; a late call does not shift the ones after it. */
export function every(clock: Clock, intervalMs: number, run: () => void): Cancel {
  let nextMs = clock.monotonicMs() + intervalMs
  let cancelNext: Cancel
  const tick = (): void => {
    nextMs = Math.max(nextMs + intervalMs, clock.monotonicMs())
    cancelNext = clock.at(nextMs, tick)
    run()
  }
  cancelNext = clock.at(nextMs, tick)
  return () => cancelNext()
}
