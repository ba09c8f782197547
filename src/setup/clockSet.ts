import { clockSetText } from '../node/expiry.js'
import type { EventTable } from '../store/events.js'

/** The clock was set, as the running node saw it; what was stamped before may be off by as much. */
export interface ClockSet {
  /** by the clock as it was set */
  readonly atWallMs: number
  /** "it was set back by 2 min" */
  readonly how: string
}

/** As the log has them from a time on, oldest first. */
export const clockSetIn = (events: Pick<EventTable, 'query'>, fromWallMs: number): ClockSet[] =>
  events
    .query({ kinds: ['fault'], sinceWallMs: fromWallMs })
    .filter(({ text }) => text === clockSetText)
    .map(({ atWallMs, reason = '' }) => ({ atWallMs, how: reason.split(';')[0]! }))
