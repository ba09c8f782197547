import type { LeftForSeveral, MailboxView, WaitingMessage } from '../services/service.js'
import type { MailboxEntry, MailboxTable } from '../store/mailbox.js'
import type { MessageRecord } from '../store/messages.js'
import { mailboxReference } from './journal.js'
import { type MailEnding, mailEnding } from './mailEnding.js'
import { mailHandingOver } from './mailHandingOver.js'
import { type MailLeaving, mailLeaving } from './mailLeaving.js'
import { senderOf } from './mailMessages.js'
import type { MailParts } from './mailParts.js'
import { lastCollectedFrom, waitingFor } from './mailRules.js'
import { mailWithdrawing } from './mailWithdrawing.js'

/** Messages that people leave for each other: kept, announced, handed over once, and reported to their senders. */
export interface Mail extends MailboxView, MailEnding, Pick<MailLeaving, 'tellSoon'> {
  /** To be called inside the transaction that answers a question: messages for what the question collected. */
  collectedBy(questionId: string, radio: number): MessageRecord[]
  /** Tells a station, or by option hands over, what waits for it. */
  stationHeard(call: string, radio: number): void
  /**
   * To be called before they are written into a connection: from then on no other node gets them, because their reader may
   * have seen them. @returns false where that could not be noted
   */
  showing(entryIds: readonly number[]): boolean
  /** Another station may hold a tactical name now. */
  namesChanged(): void
  /** Puts entries back whose carrier was lost in a crash. */
  start(): void
  stop(): void
}

export function mail(parts: MailParts): Mail {
  const { store } = parts
  const handing = mailHandingOver(parts)
  const ending = mailEnding(parts, handing.tried)
  const { stationHeard, collectedBy } = handing
  return {
    ...mailLeaving(parts, stationHeard),
    ...mailWithdrawing(parts),
    collect(question) {
      const collected = handing.collect(question)
      return collected === 'out-of-order' ? collected : collected.map(waitingOf)
    },
    lastCollectedFrom: (call) =>
      store.reading('the mailbox', undefined, () => lastCollectedFrom(store.mailbox, call)),
    waitingFor: (call) =>
      store.reading('the mailbox', [], () => waitingFor(parts, call.toUpperCase())).map(waitingOf),
    leftForSeveral: (from) =>
      store.reading('the mailbox', undefined, () => leftForSeveral(store.mailbox, from)),
    showing(entryIds) {
      const note = () => {
        for (const id of entryIds) store.mailbox.setShown(id)
      }
      return store.durably('what is shown over a connection', note).ok
    },
    collectedBy,
    stationHeard,
    namesChanged: handing.namesChanged,
    ...ending,
    start() {
      store.durably('the mailbox after a restart', () => {
        const carried = new Set(store.messages.open().map(({ mailboxId }) => mailboxId))
        const asked = new Set(store.questions.open().map(({ uniqueId }) => uniqueId))
        for (const { id, collectQuestionId = '' } of store.mailbox.sending())
          if (!carried.has(id) && !asked.has(collectQuestionId)) store.mailbox.setWaiting(id)
      })
      handing.namesChanged()
    },
    stop() {
      handing.stop()
      ending.stopExpiring()
    },
  }
}

/** Of one text to several, what became of each part. */
export function leftForSeveral(
  mailbox: Pick<MailboxTable, 'newestOfSeveral' | 'ofSeveral'>,
  from: string,
): LeftForSeveral | undefined {
  const newest = mailbox.newestOfSeveral(from)
  if (newest === undefined) return undefined
  const receivers = mailbox.ofSeveral(newest.questionId).map(({ to, state }) => ({ to, state }))
  return { text: newest.text, receivers }
}

const waitingOf = ({ id, text, leftWallMs, shown, ...entry }: MailboxEntry): WaitingMessage => ({
  id: mailboxReference(id),
  from: senderOf(entry),
  text,
  leftWallMs,
  shown,
})
