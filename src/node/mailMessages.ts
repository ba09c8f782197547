import { shortenedText } from '../aprs/messageText.js'
import type { MailboxEntry } from '../store/mailbox.js'
import type { NewMessage } from '../store/messages.js'
import type { Wording } from '../words/air/wording.js'

/*
 * The messages of ours that go out for the mailbox: an entry carried to its receiver, a word that something waits, a report to
 * the sender. All are numbered.
 */

/** A message of ours that carries mail ends after this when its receiver does not acknowledge; the entry waits on. */
const carryMs = 60 * 60_000

/** An entry as it is carried, to the station that collects it, under the number that the entry keeps. */
export const carrierOf = (entry: MailboxEntry, radio: number, wallMs: number): NewMessage => ({
  ...numbered('mailbox', entry.collectedBy!, entry.number, radio),
  text: carriedText(senderOf(entry), entry.text),
  mailboxId: entry.id,
  createdWallMs: wallMs,
  notAfterWallMs: wallMs + carryMs,
})

/** How the sender of an entry is named on the air: what came by mail is not of this node, which keeps it. */
export const senderOf = ({ from, senderName }: Pick<MailboxEntry, 'from' | 'senderName'>): string =>
  senderName ?? from

export const carriedText = (from: string, text: string): string => `${from}: ${text}`

/** Tells a station that something waits for it. */
export const promptFor = (
  to: string,
  waitingCount: number,
  { number, radio, wallMs }: { number: string; radio: number; wallMs: number },
  { say }: Wording,
): NewMessage => ({
  ...numbered('prompt', to, number, radio),
  text: waitingCount === 1 ? say('oneWaits') : say('manyWait', { count: waitingCount }),
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
  wording: Wording,
): NewMessage => ({
  ...numbered('report', entry.from, number, radio),
  text: shortenedText(wording.say(state, { call: receiverWords(entry), text: entry.text })),
  createdWallMs: life.wallMs,
  notAfterWallMs: life.wallMs + life.keepMs,
})

/** Tells the sender of one text to several that the last of them has it. */
export const allHaveReport = (
  entry: MailboxEntry,
  count: number,
  { number, radio }: { readonly number: string; readonly radio: number },
  life: { readonly wallMs: number; readonly keepMs: number },
  { say }: Wording,
): NewMessage => ({
  ...numbered('report', entry.from, number, radio),
  text: shortenedText(say('eventAllHave', { count, text: entry.text })),
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

/** 'CHECK3 (Q1ABC-7)' where it went to who held the name. */
function receiverWords({ to, collectedBy }: MailboxEntry): string {
  if (collectedBy === undefined) return to
  const isName = collectedBy.split('-')[0] !== to.split('-')[0]
  return isName ? `${to} (${collectedBy})` : collectedBy
}
