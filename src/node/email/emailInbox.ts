import { beginningThatFits, fitsMessage } from '../../aprs/messageText.js'
import { keptText } from '../../services/airText.js'
import { parseCall } from '../../services/callWords.js'
import {
  addressIsListed,
  parseEmailAddress,
  sameAddress,
  shownAddress,
} from '../../services/email/address.js'
import type { Email } from '../../store/emails.js'
import { mailboxReference } from '../journal.js'
import { carriedText } from '../mailMessages.js'
import { receiverOf } from '../mailRules.js'
import type { IncomingMail, Taken } from './carrier.js'
import { endEmail } from './emailEnding.js'
import type { EmailParts } from './emailParts.js'

const refused = (reason: string): Taken => ({ kind: 'refused', reason })
const outOfOrder: Taken = { kind: 'later', reason: 'the database cannot be used' }

/**
 * Takes a mail into the mailbox: from whom the operator allows, or who answers a mail of ours, for a station that is known here.
 * @param key the same for the same mail, whenever and however often it comes
 */
export function takeMail(parts: EmailParts, mail: IncomingMail, key: string): Taken {
  const { store, clock, options } = parts
  if (store.degraded) return outOfOrder
  return store.reading<Taken>('mail', outOfOrder, () => {
    if (mail.returned.length > 0) return takeReturned(parts, mail, key)
    if (mail.automatic) return refused('it was written by a machine, or for a list')
    const from = parseEmailAddress(mail.from)
    if (from === undefined) return refused(`no address that is taken: ${mail.from.slice(0, 100)}`)
    const answered = options.inbox.answers ? answeredBy(parts, mail, from) : undefined
    if (answered === undefined && !addressIsListed(from, options.inbox.senders))
      return refused(`${from} is not in email.inbox.senders`)
    const to = answered?.from ?? stationOf(parts, mail)
    if (to === undefined) return refused('it names no station that is known here')
    const call = receiverOf(to, parts.nodeOptions)
    if (call === undefined) return refused(`no message can be left for ${to}`)
    const name = nameOf(parts, call, from)
    const texts = messagesOf(newText(mail.text), name, options.inbox.messagesMax)
    if (texts.length === 0) return refused('there is no plain text in it')
    const { perReceiver, total } = parts.nodeOptions.mailbox
    const { openCount } = store.mailbox
    if (openCount + texts.length > total) return refused('the mailbox is full')
    if (store.mailbox.openCountFor(call) + texts.length > perReceiver)
      return refused(`${perReceiver} messages wait for ${call} already`)
    const leftWallMs = clock.wallMs()
    const kept = store.durably('a mail that came in', () => {
      if (!store.emails.noteTaken(key, leftWallMs)) return undefined
      return texts.map((text, at) =>
        store.mailbox.insert({
          ...{ questionId: `mail ${key} ${at}`.slice(0, 100), from: parts.nodeOptions.call },
          ...{ to: call, text, leftWallMs, senderName: name, answerTo: from },
          answerId: mail.messageId,
          expiresWallMs: leftWallMs + parts.nodeOptions.mailbox.keepMs,
          expiryTrusted: parts.clockTrust.trusted(),
        }),
      )
    })
    if (!kept.ok) return outOfOrder
    if (kept.value === undefined) return { kind: 'taken', what: 'a copy of what was taken before' }
    for (const { id, text } of kept.value)
      parts.note('left', `for ${call}, by mail from ${from}: ${text}`, {
        ...{ station: call, reference: mailboxReference(id) },
      })
    parts.somethingWaitsFor(call)
    return { kind: 'taken', what: `for ${call}` }
  })
}

/** The mail of ours that this one answers, where it comes from whom that went to. */
function answeredBy({ store }: EmailParts, mail: IncomingMail, from: string): Email | undefined {
  return mail.references
    .map((one) => store.emails.findByMessageId(one))
    .find((one) => one?.kind === 'letter' && sameAddress(one.toAddress, from))
}

/** Of a mail to q1abc-7@place or hill+q1abc-7@place, or whose subject begins with a call: a station that was heard or has written. */
function stationOf(
  { store, options }: EmailParts,
  { to, subject }: IncomingMail,
): string | undefined {
  const ownDomain = options.from.slice(options.from.lastIndexOf('@'))
  const locals = to
    .filter((one) => one.toLowerCase().endsWith(ownDomain.toLowerCase()))
    .map((one) => one.slice(0, one.lastIndexOf('@')).replace(/^.*\+/, ''))
  const begin = subject.trim().replace(/^([A-Za-z]{1,4}:\s*)+/, '')
  const words = [...locals, begin.split(/[\s,:;]+/)[0] ?? '']
  const isKnown = (call: string): boolean => {
    const base = call.split('-')[0]!
    if (store.stations.find(call) !== undefined || store.emails.hasWritten(base)) return true
    if (call !== base) return false
    return Array.from({ length: 15 }, (_, at) => `${base}-${at + 1}`).some(
      (one) => store.stations.find(one) !== undefined,
    )
  }
  return words.flatMap((word) => parseCall(word) ?? []).find(isKnown)
}

/** How the receiver knows the sender: by a name of its own, by one of the operator's, by the address. */
function nameOf({ store, options }: EmailParts, call: string, from: string): string {
  const own = store.emails.namesOf(call.split('-')[0]!)
  const shared = Object.entries(options.names).map(([name, address]) => ({ name, address }))
  const known = [...own, ...shared].find(({ address }) => sameAddress(address, from))
  return known?.name ?? shownAddress(from, 24)
}

/** What its writer wrote: without what he quotes, and without a signature. */
function newText(text: string): string {
  const lines = text.replace(/\r\n?/g, '\n').split('\n')
  const signature = lines.findIndex(
    (line) => /^--\s*$/.test(line) || /^-{2,}.*-{2,}\s*$/.test(line),
  )
  const written = signature < 0 ? lines : lines.slice(0, signature)
  const firstQuoted = written.findIndex((line) => line.startsWith('>'))
  // The line above a quotation says whose it is: 'On Monday Anna wrote:'.
  const introduction =
    firstQuoted > 0 ? written.slice(0, firstQuoted).findLastIndex((line) => line.trim() !== '') : -1
  return written
    .filter((line, at) => !line.startsWith('>') && !(at === introduction && /:\s*$/.test(line)))
    .join('\n')
    .trim()
}

/** As many messages as it may become; where it is longer, the last of them ends in two dots. */
function messagesOf(text: string, name: string, messagesMax: number): string[] {
  const rest = keptText(text.replace(/\s+/g, ' '))
  if (rest === '') return []
  if (fitsMessage(carriedText(name, rest))) return [rest]
  const texts: string[] = []
  let left = rest
  while (left !== '' && texts.length < messagesMax) {
    const number = `(${texts.length + 1}) `
    const isLast = texts.length === messagesMax - 1
    const head = carriedText(name, number)
    if (fitsMessage(head + left)) {
      texts.push(number + left)
      left = ''
      break
    }
    const fitting = beginningThatFits(head + left, isLast ? 65 : 67).slice(head.length)
    const space = fitting.lastIndexOf(' ')
    const part = space > fitting.length / 2 ? fitting.slice(0, space) : fitting
    texts.push(`${number}${part}${isLast ? '..' : ''}`)
    left = left.slice(part.length).trimStart()
  }
  return texts
}

/** A server that had taken a mail of ours could not deliver it after all. */
function takeReturned(parts: EmailParts, mail: IncomingMail, key: string): Taken {
  const { store, clock } = parts
  const email = mail.returned
    .map((one) => store.emails.findByMessageId(one))
    .find((one) => one?.state === 'sent' || one?.state === 'unsure')
  if (email === undefined) return refused('a notice of no mail of ours')
  const noted = store.durably('that a mail came back', () =>
    store.emails.noteTaken(key, clock.wallMs()),
  )
  if (!noted.ok || !endEmail(parts, email, 'returned', 'a later server could not deliver it'))
    return outOfOrder
  return { kind: 'taken', what: `mail for ${email.toAddress} came back` }
}
