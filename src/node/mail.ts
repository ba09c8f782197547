import type { MailboxView } from '../services/service.js'
import type { MailboxEntry } from '../store/mailbox.js'
import type { MessageRecord } from '../store/messages.js'
import { mailboxReference } from './journal.js'
import { type MailEnding, mailEnding } from './mailEnding.js'
import { mailHandingOver } from './mailHandingOver.js'
import { type MailLeaving, mailLeaving } from './mailLeaving.js'
import { senderOf } from './mailMessages.js'
import type { MailParts } from './mailParts.js'

/** Messages that people leave for each other: kept, announced, handed over once, and reported to their senders. */
export interface Mail extends MailboxView, MailEnding, Pick<MailLeaving, 'tellSoon'> {
  /** To be called inside the transaction that answers a question: messages for what the question collected. */
  collectedBy(questionId: string, radio: number): MessageRecord[]
  /** Tells a station, or by option hands over, what waits for it. */
  stationHeard(call: string, radio: number): void
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
    collect(question) {
      const collected = handing.collect(question)
      return collected === 'out-of-order' ? collected : collected.map(waitingOf)
    },
    waitingFor: (call) =>
      store
        .reading('the mailbox', [], () => store.mailbox.waitingFor(call.toUpperCase()))
        .map(waitingOf),
    collectedBy,
    stationHeard,
    ...ending,
    start() {
      store.durably('the mailbox after a restart', () => {
        const carried = new Set(store.messages.open().map(({ mailboxId }) => mailboxId))
        const asked = new Set(store.questions.open().map(({ uniqueId }) => uniqueId))
        for (const { id, collectQuestionId = '' } of store.mailbox.sending())
          if (!carried.has(id) && !asked.has(collectQuestionId)) store.mailbox.setWaiting(id)
      })
    },
    stop() {
      handing.stop()
      ending.stopExpiring()
    },
  }
}

const waitingOf = ({ id, text, leftWallMs, ...entry }: MailboxEntry) => ({
  id: mailboxReference(id),
  from: senderOf(entry),
  text,
  leftWallMs,
})
