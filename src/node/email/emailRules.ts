import {
  addressIsListed,
  isShortName,
  parseEmailAddress,
  sameAddress,
} from '../../services/email/address.js'
import type { EmailReceiver, EmailRefusal } from '../../services/service.js'
import { callIsListed } from '../addressing.js'
import type { EmailOptions } from './emailOptions.js'

export const senderMayEmail = (call: string, { senders }: EmailOptions): boolean =>
  senders.includes('*') || callIsListed(call, senders)

/** What the rules say without looking at what waits. */
export function emailRuleAgainst(
  options: EmailOptions,
  from: string,
  address: string,
  text: string,
): EmailRefusal | undefined {
  if (!senderMayEmail(from, options)) return { ok: false, reason: 'sender' }
  const isNamed = Object.values(options.names).some((one) => sameAddress(one, address))
  if (!isNamed && !addressIsListed(address, options.receivers))
    return { ok: false, reason: 'receiver' }
  return emailTooLong(options, text)
}

export function emailTooLong({ textOctets }: EmailOptions, text: string): EmailRefusal | undefined {
  return new TextEncoder().encode(text).length > textOctets
    ? { ok: false, reason: 'too-long', limit: textOctets }
    : undefined
}

/** Whom a word names: an address, a name of the sender's own, one of the operator's. */
export function receiverNamed(
  word: string,
  own: readonly EmailReceiver[],
  { names }: Pick<EmailOptions, 'names'>,
): EmailReceiver | undefined {
  const address = parseEmailAddress(word)
  if (address !== undefined) return { name: address, address }
  const name = word.toLowerCase().replace(/[.,;:?!]+$/, '')
  if (!isShortName(name)) return undefined
  const known = own.find((one) => one.name === name)
  if (known !== undefined) return known
  const shared = Object.hasOwn(names, name) ? names[name] : undefined
  return shared === undefined ? undefined : { name, address: shared }
}
