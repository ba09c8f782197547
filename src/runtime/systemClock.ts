import type { Cancel, Clock } from './clock.js'

const longestTimerMs = 2 ** 31 - 1

/** The machine's own clock; built by cli/ and by a worker's entry only. */
export function systemClock(): Clock {
  // hrtime is one clock for all threads; performance.now() starts anew in each worker.
  const monotonicMs = (): number => Number(process.hrtime.bigint() / 1000n) / 1000
  return {
    monotonicMs,
    wallMs: () => Date.now(),
    at(atMonotonicMs, run, { keepsAlive = true } = {}): Cancel {
      let timer: NodeJS.Timeout
      const arm = (): void => {
        const waitMs = Math.max(0, atMonotonicMs - monotonicMs())
        // A timer may fire a fraction early, and setTimeout overflows past 24.8 days: look again when it rings.
        timer = setTimeout(
          () => {
            if (monotonicMs() < atMonotonicMs) arm()
            else run()
          },
          Math.min(Math.ceil(waitMs), longestTimerMs),
        )
        if (!keepsAlive) timer.unref()
      }
      arm()
      return () => clearTimeout(timer)
    },
  }
}
