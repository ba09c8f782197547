import type { Clock } from '../../runtime/clock.js'

/** The part of the time that may go into one thing, in any hour. */
export interface AirtimeShare {
  /** A frame of this was sent. */
  note(airtimeMs: number): void
  /** what is left now, ms */
  readonly leftMs: number
  /** used in the last hour, ms */
  readonly usedMs: number
}

const windowMs = 3_600_000

/** @param share 0 to 1 */
export function airtimeShare(clock: Pick<Clock, 'monotonicMs'>, share: number): AirtimeShare {
  const spent: { atMs: number; airtimeMs: number }[] = []
  const used = (): number => {
    const sinceMs = clock.monotonicMs() - windowMs
    while (spent[0] !== undefined && spent[0].atMs <= sinceMs) spent.shift()
    return spent.reduce((sum, { airtimeMs }) => sum + airtimeMs, 0)
  }
  return {
    note(airtimeMs) {
      spent.push({ atMs: clock.monotonicMs(), airtimeMs })
    },
    get leftMs() {
      return Math.max(0, share * windowMs - used())
    },
    get usedMs() {
      return used()
    },
  }
}
