import type { MessagePayload } from '../aprs/types.js'
import type { Clock } from '../runtime/clock.js'
import { copies } from './copies.js'
import type { Outbox } from './outbox.js'

/** Longer than anybody repeats a message. */
const returnedWindowMs = 60 * 60_000

/**
 * Takes what a message acknowledges of ours (addendum of December 1999). That was received before the message was written: so its
 * copies, and its retries, say nothing about a message of ours that has the same number by now; numbers begin again
 * with a new database.
 */
export function acknowledgedInReturn(
  clock: Clock,
  outbox: Pick<Outbox, 'acknowledged'>,
): (from: string, payload: MessagePayload) => void {
  const seen = copies(returnedWindowMs)
  return (from, { text, number, replyAcknowledges }) => {
    if (!replyAcknowledges) return
    const key = `${from}:${text}{${number}}${replyAcknowledges}`
    if (seen.note(key, '', clock.monotonicMs()) === undefined)
      outbox.acknowledged(from, replyAcknowledges, 'by a message in return')
  }
}
