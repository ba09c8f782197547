import { characterCount, excessCharacters } from '../aprs/messageText.js'
import { formatAddress, parseAddress } from '../ax25/address.js'
import type { LeaveRefusal, Question, TooLong } from '../services/service.js'
import type { MailboxEntry, MailboxTable } from '../store/mailbox.js'
import type { Store } from '../store/store.js'
import { addresseeOf } from './addressing.js'
import { carriedText } from './mailMessages.js'
import type { MailParts } from './mailParts.js'
import type { MailboxOptions, NodeOptions } from './options.js'

/** Why somebody may not leave a message; undefined where nothing is against it. */
export function refusalOf(
  store: Store,
  limits: MailboxOptions,
  question: Question,
  to: string,
  text: string,
): LeaveRefusal | undefined {
  if (store.degraded) return { ok: false, reason: 'out-of-order' }
  if (knownEntry(store, question, to, text) !== undefined) return undefined
  const tooLong = tooLongWith(carriedText(question.from, text), text)
  if (tooLong !== undefined) return tooLong
  if (store.mailbox.openCount >= limits.total) return { ok: false, reason: 'mailbox-full' }
  const { perSender, perReceiver } = limits
  // Of one text to several the first counts for all.
  const isFurther = store.mailbox.ofSeveral(question.id).length > 0
  if (!isFurther && store.mailbox.openCountFrom(question.from) >= perSender)
    return { ok: false, reason: 'sender-quota', limit: perSender }
  return store.mailbox.openCountFor(to) >= perReceiver
    ? { ok: false, reason: 'addressee-quota', limit: perReceiver }
    : undefined
}

/** By how much somebody's text is too long for one message once its sender stands with it. */
export function tooLongWith(carried: string, text: string): TooLong | undefined {
  const excess = excessCharacters(carried)
  if (excess === 0) return undefined
  const charactersMax = Math.max(0, characterCount(text) - excess)
  return { ok: false, reason: 'too-long', excessCharacters: excess, charactersMax }
}

/** What this question has left already, or what says the same and still waits: a person who asks twice means it once. */
export function knownEntry(
  store: Store,
  question: Question,
  to: string,
  text: string,
): MailboxEntry | undefined {
  return (
    store.mailbox.findByQuestion(question.id) ?? store.mailbox.findSame(question.from, to, text)
  )
}

/** 'waiting', for this station or for a name that it holds; oldest first. */
export function waitingFor(
  { store, names }: Pick<MailParts, 'store' | 'names'>,
  call: string,
): MailboxEntry[] {
  const own = store.mailbox.waitingFor(call)
  const held = (names?.heldBy(call) ?? []).flatMap((name) => store.mailbox.waitingFor(name))
  return held.length === 0 ? own : [...own, ...held].sort((a, b) => a.id - b.id)
}

/** The receiver as kept; undefined for what is not a station, or is this node. */
export function receiverOf(call: string, options: NodeOptions): string | undefined {
  const address = parseAddress(call.trim())
  if (!address.ok) return undefined
  const to = formatAddress(address.value)
  // a call sign has a letter and a digit; this keeps out words that merely have the right length
  if (!/\d/.test(address.value.call) || !/[A-Z]/.test(address.value.call)) return undefined
  return addresseeOf(to, options).kind === 'other' ? to : undefined
}

/** Why a message counts as refused of which another node's database knows nothing any more. */
export const perhapsLost = 'is perhaps lost'

/** More have not been left within the time that anybody remembers. */
const lookedAt = 300

/** Who left the message that a station collected last. What came by mail is answered there, not here. */
export function lastCollectedFrom(
  mailbox: Pick<MailboxTable, 'recent'>,
  call: string,
): string | undefined {
  const collected = mailbox
    .recent(lookedAt)
    .filter(({ collectedBy, state }) => collectedBy === call && state !== 'expired')
    .filter(({ answerTo }) => answerTo === undefined)
  const endOf = ({ endedWallMs = Number.POSITIVE_INFINITY }: MailboxEntry): number => endedWallMs
  return collected.reduce<MailboxEntry | undefined>(
    (last, one) => (last === undefined || endOf(one) >= endOf(last) ? one : last),
    undefined,
  )?.from
}
