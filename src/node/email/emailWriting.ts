import { keptText } from '../../services/airText.js'
import { shownAddress } from '../../services/email/address.js'
import type {
  EmailReceiver,
  EmailRefusal,
  EmailResult,
  EmailView,
  LeftMessage,
  NameResult,
  Question,
  WithdrawResult,
} from '../../services/service.js'
import type { Email, EmailTable } from '../../store/emails.js'
import { outOfOrder } from '../mailLeaving.js'
import { type EmailParts, emailReference } from './emailParts.js'
import { emailRuleAgainst, emailTooLong, receiverNamed, senderMayEmail } from './emailRules.js'

export const dayMs = 86_400_000

/** Every SSID of a call is one person's. */
const baseOf = (call: string): string => call.split('-')[0]!

/** Keeps what people write, and the names that they give. @param soon has the queue look at it */
export function emailWriting(parts: EmailParts, soon: () => void): EmailView {
  const { clock, store, options } = parts
  const reading = <Value>(otherwise: Value, read: () => Value): Value =>
    store.reading('mail', otherwise, read)

  const keep = (
    question: Question,
    to: EmailReceiver & { readonly inReplyTo?: string | undefined },
    given: string,
    language: string | undefined,
    against: (text: string) => EmailRefusal | undefined,
  ): EmailResult => {
    const text = keptText(given)
    const { from } = question
    const known = (): boolean =>
      store.emails.findByQuestion(question.id) !== undefined ||
      store.emails.findSame(from, to.address, text) !== undefined
    const refusal = reading<EmailRefusal | 'known' | undefined>(noDatabase, () => {
      if (store.degraded) return noDatabase
      if (known()) return 'known'
      return against(text) ?? roomAgainst(parts, from)
    })
    if (refusal === 'known') return { ok: true }
    if (refusal?.reason === 'out-of-order') return outOfOrder(parts, question)
    if (refusal !== undefined) return refused(parts, question, to, refusal)
    const leftWallMs = clock.wallMs()
    const kept = store.durably('a mail that somebody writes', () =>
      store.emails.insert({
        ...{ questionId: question.id, kind: 'letter', from, text },
        ...{ toAddress: to.address, toName: to.name, inReplyTo: to.inReplyTo },
        messageId: newMessageId(parts),
        language: language ?? 'en',
        leftWallMs,
        expiresWallMs: leftWallMs + options.keepMs,
        expiryTrusted: parts.clockTrust.trusted(),
      }),
    )
    if (!kept.ok) return outOfOrder(parts, question)
    parts.note('left', `mail for ${to.address}: ${text}`, {
      ...{ station: from, reference: emailReference(kept.value.id) },
    })
    soon()
    return { ok: true }
  }

  const lastTo = (call: string) => reading(undefined, () => store.mailbox.lastByMailTo(call))
  const namesOf = (from: string) => reading([], () => store.emails.namesOf(baseOf(from)))

  return {
    namesOf,
    receiverOf: (from, word) => receiverNamed(word, namesOf(from), options),
    write: (question, to, text, language) =>
      keep(question, to, text, language, (kept) =>
        emailRuleAgainst(options, question.from, to.address, kept),
      ),
    lastWriterTo(call) {
      const { answerTo, senderName } = lastTo(call) ?? {}
      return answerTo === undefined
        ? undefined
        : { name: senderName ?? shownAddress(answerTo), address: answerTo }
    },
    answer(question, text, language) {
      const { answerTo, answerId, senderName } = lastTo(question.from) ?? {}
      if (answerTo === undefined) return { ok: false, reason: 'receiver' }
      const to = { name: senderName ?? answerTo, address: answerTo, inReplyTo: answerId }
      // Who may write to this station may be answered by it.
      return keep(question, to, text, language, (kept) => emailTooLong(options, kept))
    },
    setName: (question, name, address) => setName(parts, question, name, address),
    writtenBy: (from) => reading([], () => writtenBy(store.emails, from)),
    withdraw: (question, number) => withdraw(parts, question, number),
  }
}

/** More than anybody asks for; all that wait are among a day's. */
const writtenMax = 100

/** Mail to addresses that a station wrote, newest first. */
export const writtenBy = (emails: Pick<EmailTable, 'writtenBy'>, from: string): LeftMessage[] =>
  emails.writtenBy(from, writtenMax).map(leftMessage)

const leftMessage = (email: Email): LeftMessage => {
  const { id, toName, text, leftWallMs, state, underWay, endedWallMs } = email
  return {
    ...{ number: emailReference(id), to: shownAddress(toName), text, leftWallMs, endedWallMs },
    state: state === 'waiting' && underWay ? 'sending' : state === 'returned' ? 'refused' : state,
  }
}

/** What is being given to the server now cannot be stopped. */
function withdraw(parts: EmailParts, question: Question, number: string): WithdrawResult {
  const { store, clock, note } = parts
  const found = store.reading<Email | 'none' | undefined>('mail', undefined, () => {
    const id = /^E(\d{1,12})$/.exec(number)?.[1]
    const email = id === undefined ? undefined : store.emails.find(Number(id))
    return email?.kind === 'letter' && email.from === question.from ? email : 'none'
  })
  if (found === undefined || store.degraded) return { kind: outOfOrder(parts, question).reason }
  if (found === 'none') return { kind: 'unknown' }
  if (found.state !== 'waiting' || found.underWay)
    return { kind: 'over', message: leftMessage(found) }
  const done = store.durably('a mail that its sender takes back', () =>
    store.emails.end(found.id, 'withdrawn', clock.wallMs(), 'by its sender'),
  )
  if (!done.ok) return { kind: outOfOrder(parts, question).reason }
  const detail = { station: found.from, reference: emailReference(found.id) }
  note('given up', `mail for ${found.toAddress}: ${found.text}`, {
    ...{ ...detail, reason: 'its sender took it back' },
  })
  return { kind: 'withdrawn', to: shownAddress(found.toName), perhaps: found.unsureCount > 0 }
}

const noDatabase = { ok: false, reason: 'out-of-order' } as const

/** What waits, and what went today. */
function roomAgainst(
  { store, clock, options }: EmailParts,
  from: string,
): EmailRefusal | undefined {
  const { perSenderDay, perDay, waitingMax } = options
  const wallMs = clock.wallMs()
  if (store.emails.waitingCount >= waitingMax) return { ok: false, reason: 'queue-full' }
  if (store.emails.countWithin(dayMs, wallMs, baseOf(from)) >= perSenderDay)
    return { ok: false, reason: 'day-limit', limit: perSenderDay }
  return store.emails.countWithin(dayMs, wallMs) >= perDay
    ? { ok: false, reason: 'day-limit', limit: perDay }
    : undefined
}

function refused(
  { note, counts }: EmailParts,
  question: Question,
  to: EmailReceiver,
  refusal: EmailRefusal,
): EmailRefusal {
  counts.note('not kept', refusal.reason)
  note('refused', `mail for ${to.address}`, {
    ...{ station: question.from, reason: `mail: ${refusal.reason}` },
  })
  return refusal
}

/** Made once for a mail; its right side is the station's own domain (RFC 5322, 3.6.4). */
export const newMessageId = ({ nextId, options }: Pick<EmailParts, 'nextId' | 'options'>): string =>
  `<${nextId()}.radio@${options.from.slice(options.from.lastIndexOf('@') + 1)}>`

function setName(
  parts: EmailParts,
  question: Question,
  name: string,
  address: string | undefined,
): NameResult {
  const { store, options } = parts
  const call = baseOf(question.from)
  const looked = store.reading<NameResult | undefined>('mail', noDatabase, () => {
    if (store.degraded) return noDatabase
    const own = store.emails.namesOf(call)
    const isKnown = own.some((one) => one.name === name)
    if (address === undefined) return isKnown ? undefined : { ok: false, reason: 'unknown' }
    if (isKnown) return undefined
    const { namesPerSender, namesTotal } = options
    if (!senderMayEmail(question.from, options) || own.length >= namesPerSender)
      return { ok: false, reason: 'names-full', limit: namesPerSender }
    return store.emails.nameCount() >= namesTotal
      ? { ok: false, reason: 'names-full', limit: namesTotal }
      : undefined
  })
  if (looked?.ok === false && looked.reason === 'out-of-order') return outOfOrder(parts, question)
  if (looked !== undefined) return looked
  const kept = store.durably('a name that somebody gives', () =>
    store.emails.setName(call, name, address),
  )
  if (!kept.ok) return outOfOrder(parts, question)
  const what = address === undefined ? `name ${name}: none` : `name ${name}: ${address}`
  parts.note('left', what, { station: question.from })
  return { ok: true }
}
