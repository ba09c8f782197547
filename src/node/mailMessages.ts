import { shortenedText } from '../aprs/messageText.js'
import type { MailboxEntry } from '../store/mailbox.js'
import type { NewMessage } from '../store/messages.js'

/*
 * The messages of ours that go out for the mailbox: an entry carried to its receiver, a word that something waits, a report to
 * the sender. All are numbered.
 */

/** A message of ours that carries mail ends after this when its receiver does not acknowledge; the entry waits on. */
const carryMs = 60 * 60_000

/** An entry as it is carried, to the station that collects it, under the number that the entry keeps. */
export const carrierOf = (entry: MailboxEntry, radio: number, wallMs: number): NewMessage => ({
  ...numbered('mailbox', entry.collectedBy!, entry.number, radio),
  text: carriedText(entry.from, entry.text),
  mailboxId: entry.id,
  createdWallMs: wallMs,
  notAfterWallMs: wallMs + carryMs,
})

export const carriedText = (from: string, text: string): string => `${from}: ${text}`

/** Tells a station that something waits for it. */
export const promptFor = (
  to: string,
  number: string,
  waitingCount: number,
  radio: number,
  wallMs: number,
): NewMessage => ({
  ...numbered('prompt', to, number, radio),
  text: `${waitingCount === 1 ? '1 message waits' : `${waitingCount} messages wait`} for you here. Send: collect`,
  createdWallMs: wallMs,
  notAfterWallMs: wallMs + carryMs,
})

/** Tells the sender of an entry what became of it. */
export const reportOn = (
  entry: MailboxEntry,
  state: 'delivered' | 'refused' | 'expired',
  number: string,
  radio: number,
  life: { readonly wallMs: number; readonly keepMs: number },
): NewMessage => ({
  ...numbered('report', entry.from, number, radio),
  text: reportText(entry, state),
  createdWallMs: life.wallMs,
  notAfterWallMs: life.wallMs + life.keepMs,
})

const numbered = (
  kind: NewMessage['kind'],
  to: string,
  number: string | undefined,
  radio: number,
): Omit<NewMessage, 'text' | 'createdWallMs' | 'notAfterWallMs'> => ({
  kind,
  to,
  number,
  replyTo: undefined,
  questionId: undefined,
  mailboxId: undefined,
  radio,
  state: 'waiting',
})

const ends = {
  delivered: 'was delivered',
  refused: 'was refused by its radio',
  expired: 'was not collected in time',
} as const

function reportText(entry: MailboxEntry, state: keyof typeof ends): string {
  return shortenedText(
    `Your message to ${entry.collectedBy ?? entry.to} ${ends[state]}: ${entry.text}`,
  )
}
