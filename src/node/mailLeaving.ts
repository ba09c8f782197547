import { wallAgeMs } from '../runtime/clockTrust.js'
import { keptText } from '../services/airText.js'
import type { LeaveRefusal, LeaveResult, Question } from '../services/service.js'
import { mailboxReference, referenceOfUniqueId } from './journal.js'
import type { MailParts } from './mailParts.js'
import { knownEntry, receiverOf, refusalOf } from './mailRules.js'

/** A receiver heard within this is told at once when something is left for it. */
const heardLatelyMs = 10 * 60_000

/** Says that the mailbox cannot be used: to who asked, and to who can mend it. */
export function outOfOrder({ note }: Pick<MailParts, 'note'>, { from, id }: Question) {
  const reason = 'its database cannot be used: nothing is taken, or handed out, until it can'
  note('fault', 'the mailbox', { station: from, reference: referenceOfUniqueId(id), reason })
  return { ok: false, reason: 'out-of-order' } as const
}

const noDatabase: LeaveRefusal = { ok: false, reason: 'out-of-order' }

/** Takes what people leave for others. */
export interface MailLeaving {
  leave(question: Question, toCall: string, text: string): LeaveResult
  /** Something waits for a station: where it was heard lately it is told, after what is being answered now. */
  tellSoon(to: string): void
}

/** @param stationHeard tells a receiver that something waits for it */
export function mailLeaving(
  parts: MailParts,
  stationHeard: (call: string, radio: number) => void,
): MailLeaving {
  const { clock, store, note, options } = parts
  const limits = options.mailbox

  const tellSoon = (to: string): void => {
    const call = parts.names?.holder(to) ?? to
    const receiver = store.stations.find(call)
    const heardAgoMs = receiver && wallAgeMs(receiver.lastHeardWallMs, clock.wallMs())
    if (receiver === undefined || heardAgoMs === undefined || heardAgoMs >= heardLatelyMs) return
    clock.at(clock.monotonicMs(), () => stationHeard(call, receiver.radio))
  }

  const leave: MailLeaving['leave'] = (question, toCall, sentText) => {
    const text = keptText(sentText)
    const to = parts.names?.nameOf(toCall) ?? receiverOf(toCall, options)
    if (to === undefined) return { ok: false, reason: 'bad-call' }
    const refusal = store.reading('the mailbox', noDatabase, () =>
      refusalOf(store, limits, question, to, text),
    )
    if (refusal?.reason === 'out-of-order') return outOfOrder(parts, question)
    if (refusal !== undefined) return refusal
    const leftWallMs = clock.wallMs()
    const kept = store.durably('a message that somebody leaves', () => {
      const known = knownEntry(store, question, to, text)
      const entry =
        known ??
        store.mailbox.insert({
          questionId: question.id,
          from: question.from,
          to,
          text,
          leftWallMs,
          expiresWallMs: leftWallMs + limits.keepMs,
          expiryTrusted: parts.clockTrust.trusted(),
        })
      const waitingCount = store.mailbox.openCountFor(to)
      return { known: known !== undefined, entry, waitingCount }
    })
    if (!kept.ok) return outOfOrder(parts, question)
    const { entry, known, waitingCount } = kept.value
    if (!known) {
      const reference = mailboxReference(entry.id)
      note('left', `for ${to}: ${text}`, { station: question.from, reference })
      tellSoon(to)
    }
    return { ok: true, waitingCount, keptMs: limits.keepMs }
  }
  return { leave, tellSoon }
}
