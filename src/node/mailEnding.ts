import type { Cancel } from '../runtime/clock.js'
import type { MailboxEntry } from '../store/mailbox.js'
import type { MessageRecord, MessageState } from '../store/messages.js'
import { mailboxReference } from './journal.js'
import { allHaveReport, reportOn, senderOf } from './mailMessages.js'
import type { MailParts } from './mailParts.js'

/** Ends entries, once each, and reports it to their senders. */
export interface MailEnding {
  /** Inside the transaction that ends a message of ours that carries an entry. */
  carrierEnded(
    message: MessageRecord,
    state: MessageState,
    reason: string | undefined,
  ): MessageRecord[]
  /** Ends what its receiver took over a connection, and acknowledged there. */
  handedOver(entryIds: readonly number[], to: string, radio: number): void
  /** Ends what waits past its time; to be called now and then, while the clock is trusted. */
  expire(): void
  stopExpiring(): void
}

/** A step of some 10 ms of CPU time where a million frames are stored; a hundred at once took 30 to 49. */
const expiredAtOnce = 25
const expireAgainMs = 125

/** @param tried notes that an entry was tried in vain, and waits again */
export function mailEnding(parts: MailParts, tried: (entryId: number) => void): MailEnding {
  const { clock, store, note } = parts

  /** Inside a transaction: the end of an entry, and the report of it to its sender where it was left here. */
  const endEntry = (
    entry: MailboxEntry,
    state: 'delivered' | 'refused' | 'expired',
    radio: number,
    reason?: string,
  ): MessageRecord[] => {
    store.mailbox.end(entry.id, state, clock.wallMs(), reason, entry.collectedBy)
    const to = entry.collectedBy ?? entry.to
    note(state === 'refused' ? 'rejected' : state, `from ${senderOf(entry)}: ${entry.text}`, {
      station: to,
      reference: mailboxReference(entry.id),
      reason,
    })
    if (parts.isFromElsewhere?.(entry.questionId)) return []
    if (entry.answerTo !== undefined) {
      parts.emailEnded?.(entry, state)
      return []
    }
    const life = { wallMs: clock.wallMs(), keepMs: parts.options.mailbox.keepMs }
    // Of one text to several it is told when all have it; and at once of who will not get it.
    const several = entry.questionId.includes('>')
      ? store.mailbox.ofSeveral(entry.questionId).filter((one) => one.state !== 'withdrawn')
      : []
    const haveIt = state === 'delivered' ? several.map((one) => one.state === 'delivered') : []
    if (haveIt.includes(false)) return []
    const number = parts.newNumber(entry.from)
    const report =
      haveIt.length > 1
        ? allHaveReport(entry, haveIt.length, { number, radio }, life, parts.wording())
        : reportOn(entry, state, number, radio, life, parts.wording())
    return [store.messages.insert(report)]
  }

  let cancelNext: Cancel = () => {}

  const expire = (): void => {
    cancelNext()
    const none: { readonly count: number; readonly reports: MessageRecord[] } = {
      ...{ count: 0, reports: [] },
    }
    const { count, reports } = store.reading('the mailbox', none, () => {
      const old = store.mailbox.expired(clock.wallMs(), expiredAtOnce)
      if (old.length === 0) return none
      const ended = store.durably('what has expired', () =>
        old.flatMap((entry) => endEntry(entry, 'expired', 0, 'not collected in time')),
      )
      return ended.ok ? { count: old.length, reports: ended.value } : none
    })
    // Thousands may have expired while the node was off: they end one short step after another.
    if (count === expiredAtOnce)
      cancelNext = clock.at(clock.monotonicMs() + expireAgainMs, () => {
        if (parts.clockTrust.trusted()) expire()
      })
    parts.outbox().add(reports)
  }

  return {
    carrierEnded(message, state, reason) {
      const entry =
        message.mailboxId === undefined ? undefined : store.mailbox.find(message.mailboxId)
      if (entry === undefined) return []
      // It was on the air when its sender took it back, and arrived all the same: that is what is told.
      const isBack = entry.state === 'withdrawn'
      // It may have ended already: by the acknowledgement of an earlier carrier.
      if (!isBack && entry.state !== 'sending' && entry.state !== 'waiting') return []
      if (state === 'acknowledged') return endEntry(entry, 'delivered', message.radio)
      if (isBack) return []
      if (state === 'rejected') return endEntry(entry, 'refused', message.radio, reason)
      store.mailbox.setWaiting(entry.id)
      tried(entry.id)
      return []
    },
    handedOver(entryIds, to, radio) {
      const ended = store.durably('what was read over a connection', () =>
        entryIds.flatMap((id) => {
          const entry = store.mailbox.find(id)
          if (entry?.state !== 'waiting' && entry?.state !== 'withdrawn') return []
          return endEntry({ ...entry, collectedBy: to }, 'delivered', radio)
        }),
      )
      if (ended.ok) parts.outbox().add(ended.value)
    },
    expire,
    stopExpiring: () => cancelNext(),
  }
}
