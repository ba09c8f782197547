import { shortenedText } from '../../aprs/messageText.js'
import { keptText } from '../../services/airText.js'
import { shownAddress } from '../../services/email/address.js'
import type { Email, EmailState } from '../../store/emails.js'
import type { EventKind } from '../../store/events.js'
import type { MailboxEntry } from '../../store/mailbox.js'
import type { MessageRecord } from '../../store/messages.js'
import { type EmailParts, emailReference } from './emailParts.js'
import { dayMs, newMessageId } from './emailWriting.js'

type ReportName = 'emailSent' | 'emailRefused' | 'emailExpired' | 'emailUnsure' | 'emailReturned'

export type EmailEnd = Exclude<EmailState, 'waiting' | 'withdrawn'>

/** How the log and the sender are told of it. */
const ends: Readonly<Record<EmailEnd, { readonly event: EventKind; readonly text: ReportName }>> = {
  sent: { event: 'delivered', text: 'emailSent' },
  refused: { event: 'rejected', text: 'emailRefused' },
  expired: { event: 'expired', text: 'emailExpired' },
  unsure: { event: 'given up', text: 'emailUnsure' },
  returned: { event: 'rejected', text: 'emailReturned' },
}

/**
 * Ends a mail, and has its sender told by radio, in one transaction.
 * @param reason for the log
 * @param why for the sender, in a word or a figure
 * @returns false where the database did not take it: nothing of it happened
 */
export function endEmail(
  parts: EmailParts,
  email: Email,
  state: EmailEnd,
  reason: string,
  why = '',
): boolean {
  const { store, clock, note, counts } = parts
  const ended = store.durably('what became of a mail', () => {
    store.emails.end(email.id, state, clock.wallMs(), reason)
    return email.kind !== 'letter' ? [] : [reportByRadio(parts, email, ends[state].text, why)]
  })
  if (!ended.ok) return false
  counts.note(state, '')
  note(ends[state].event, `mail for ${email.toAddress}: ${email.text}`, {
    ...{ station: email.from, reference: emailReference(email.id), reason },
  })
  parts.send(ended.value)
  return true
}

/** Inside a transaction. */
function reportByRadio(
  { store, clock, newNumber, radioFor, nodeOptions, wordings }: EmailParts,
  { from, toName, text: about, language }: Email,
  text: ReportName,
  why: string,
): MessageRecord {
  const wallMs = clock.wallMs()
  return store.messages.insert({
    ...{ kind: 'report', to: from, number: newNumber(from), radio: radioFor(from) },
    text: shortenedText(
      wordings.of(language).say(text, { to: shownAddress(toName), text: about, why }),
    ),
    ...{ replyTo: undefined, questionId: undefined, mailboxId: undefined, state: 'waiting' },
    ...{ createdWallMs: wallMs, notAfterWallMs: wallMs + nodeOptions.mailbox.keepMs },
  })
}

const deliveredHow = {
  delivered: 'was delivered by radio',
  refused: 'was refused by the radio that it was for',
  expired: 'was not collected in time',
} as const

/**
 * Inside the transaction that ends a mailbox entry that came by mail: its sender is told by mail. Where the day's mails are used
 * up, nobody is: the log says so.
 */
export function reportByEmail(
  parts: EmailParts,
  entry: MailboxEntry,
  state: keyof typeof deliveredHow,
): void {
  const { store, clock, options, note } = parts
  const { answerTo, answerId } = entry
  if (answerTo === undefined) return
  const leftWallMs = clock.wallMs()
  const to = entry.collectedBy ?? entry.to
  if (isFull(parts)) {
    note('refused', `report to ${answerTo}`, { station: to, reason: 'mail: no more today' })
    return
  }
  store.emails.insert({
    // One mail may have become several messages: one report of each kind.
    ...{ questionId: `${entry.questionId.replace(/ \d+$/, '')} ${state}`, kind: 'report' },
    ...{ from: parts.nodeOptions.call, toAddress: answerTo, toName: answerTo },
    text: `Your message to ${to} ${deliveredHow[state]}: ${entry.text}`,
    ...{ messageId: newMessageId(parts), inReplyTo: answerId, language: 'en', leftWallMs },
    expiresWallMs: leftWallMs + options.keepMs,
    expiryTrusted: parts.clockTrust.trusted(),
  })
}

/** More may not wait, or go in a day. */
const isFull = ({ store, clock, options: { waitingMax, perDay } }: EmailParts): boolean =>
  store.emails.waitingCount >= waitingMax ||
  store.emails.countWithin(dayMs, clock.wallMs()) >= perDay

/**
 * Keeps an alert of the operator's rules as a mail of the station.
 * @returns why it cannot go, in words; undefined where it is on the disk
 */
export function alertByEmail(parts: EmailParts, to: string, text: string): string | undefined {
  const { store, clock, options, nextId } = parts
  if (store.degraded) return 'the database is out of order'
  if (store.reading('mail', false, () => isFull(parts))) return 'no more mail today'
  const leftWallMs = clock.wallMs()
  const kept = store.durably('an alert by mail', () =>
    store.emails.insert({
      ...{ questionId: `alert ${nextId()}`, kind: 'alert', from: parts.nodeOptions.call },
      ...{
        toAddress: to,
        toName: to,
        text: keptText(text),
        messageId: newMessageId(parts),
        inReplyTo: undefined,
      },
      ...{ language: 'en', leftWallMs, expiresWallMs: leftWallMs + options.keepMs },
      expiryTrusted: parts.clockTrust.trusted(),
    }),
  )
  return kept.ok ? undefined : 'the database is out of order'
}
