import type { Clock } from './clock.js'

/** So much at once, and so much a second after that: what a peer may have us do. */
export interface Allowance {
  /** Takes `amount` where it is there. @returns whether it was */
  take(amount: number): boolean
  /** Takes `amount`, there or not. @returns how long until it is made up for, ms; 0 where it was there */
  owe(amount: number): number
}

/** @param max what is there at first, and at most */
export function createAllowance(clock: Clock, max: number, perSecond: number): Allowance {
  let left = max
  let atMs = clock.monotonicMs()
  const refill = (): void => {
    const nowMs = clock.monotonicMs()
    left = Math.min(max, left + ((nowMs - atMs) * perSecond) / 1000)
    atMs = nowMs
  }
  return {
    take(amount) {
      refill()
      if (left < amount) return false
      left -= amount
      return true
    },
    owe(amount) {
      refill()
      left -= amount
      return left >= 0 ? 0 : (-left * 1000) / perSecond
    },
  }
}
