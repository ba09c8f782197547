import { systemClock } from '../../src/runtime/systemClock.js'

/**
 * Watches how late this machine runs what is due. A test of milliseconds on a real clock can only judge our code while the
 * machine is not busy with something else.
 */
export interface SchedulingWitness {
  /** longest time between two looks, since the last call */
  longestGapMs(): number
  close(): void
}

const lookMs = 2

export function schedulingWitness(): SchedulingWitness {
  const clock = systemClock()
  let lastMs = clock.monotonicMs()
  let longest = 0
  const look = (): void => {
    const nowMs = clock.monotonicMs()
    longest = Math.max(longest, nowMs - lastMs)
    lastMs = nowMs
  }
  const timer = setInterval(look, lookMs)
  return {
    longestGapMs() {
      look()
      const gap = longest
      longest = 0
      return gap
    },
    close: () => clearInterval(timer),
  }
}
