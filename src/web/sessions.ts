import type { Clock } from '../runtime/clock.js'
import { setNewest } from '../runtime/setNewest.js'
import { newToken, tokenHash } from './password.js'

/** Who has logged in, until he leaves, half a day has passed, or the program ends. */
export interface Sessions {
  /** @returns the cookie's value */
  open(): string
  close(value: string): void
  isOpen(value: string): boolean
}

export const sessionS = 12 * 3600
const sessionsMax = 50

export function createSessions(clock: Clock): Sessions {
  /** by hash: what lies in memory opens nothing */
  const ends = new Map<string, number>()
  return {
    open() {
      const value = newToken()
      setNewest(ends, tokenHash(value), clock.monotonicMs() + sessionS * 1000, sessionsMax)
      return value
    },
    close: (value) => void ends.delete(tokenHash(value)),
    isOpen(value) {
      const endMs = ends.get(tokenHash(value))
      return endMs !== undefined && clock.monotonicMs() < endMs
    },
  }
}
