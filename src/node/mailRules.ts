import { fitsMessage } from '../aprs/messageText.js'
import { formatAddress, parseAddress } from '../ax25/address.js'
import type { Question } from '../services/service.js'
import type { MailboxEntry } from '../store/mailbox.js'
import type { Store } from '../store/store.js'
import { addresseeOf } from './addressing.js'
import { carriedText } from './mailMessages.js'
import type { MailboxOptions, NodeOptions } from './options.js'

/** Why somebody may not leave a message; undefined where nothing is against it. */
export function refusalOf(
  store: Store,
  limits: MailboxOptions,
  question: Question,
  to: string,
  text: string,
): 'too-long' | 'quota' | 'mailbox-full' | 'out-of-order' | undefined {
  if (store.degraded) return 'out-of-order'
  if (knownEntry(store, question, to, text) !== undefined) return undefined
  if (!fitsMessage(carriedText(question.from, text))) return 'too-long'
  if (store.mailbox.openCount >= limits.total) return 'mailbox-full'
  if (store.mailbox.openCountFrom(question.from) >= limits.perSender) return 'quota'
  return store.mailbox.openCountFor(to) >= limits.perReceiver ? 'quota' : undefined
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

/** The receiver as kept; undefined for what is no station, or is this node. */
export function receiverOf(call: string, options: NodeOptions): string | undefined {
  const address = parseAddress(call.trim())
  if (!address.ok) return undefined
  const to = formatAddress(address.value)
  // a call sign has a letter and a digit; this keeps out words that merely have the right length
  if (!/\d/.test(address.value.call) || !/[A-Z]/.test(address.value.call)) return undefined
  return addresseeOf(to, options).kind === 'other' ? to : undefined
}
