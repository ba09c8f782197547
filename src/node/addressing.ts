import { isGroupAddressee } from '../aprs/message.js'
import type { Vocabulary } from '../services/asking/vocabulary.js'
import type { Offer } from '../services/dispatch.js'
import type { Service } from '../services/service.js'
import type { Alias } from './options.js'

/** Whom a message means. */
export type AddresseeKind =
  | { readonly kind: 'us' }
  | { readonly kind: 'alias'; readonly alias: Alias }
  | { readonly kind: 'group' }
  | { readonly kind: 'other' }

/** @param addressee as parsed: without the padding */
export function addresseeOf(
  addressee: string,
  own: {
    readonly call: string
    readonly aliases: readonly Alias[]
    readonly groups?: readonly string[]
  },
): AddresseeKind {
  const wanted = addressee.trim().toUpperCase().replace(/-0$/, '')
  if (wanted === own.call) return { kind: 'us' }
  const alias = own.aliases.find(({ name }) => name.toUpperCase() === wanted)
  if (alias !== undefined) return { kind: 'alias', alias }
  return isGroupAddressee(wanted) || isOwnGroup(wanted, own) ? { kind: 'group' } : { kind: 'other' }
}

/** A group of people that the node was told of (APRS reference, chapter 14: user-defined message groups). */
export const isOwnGroup = (
  addressee: string,
  { groups = [] }: { readonly groups?: readonly string[] },
): boolean => groups.includes(addressee.trim().toUpperCase())

/** True when `call` is in the list: with its SSID, or its call sign alone for every SSID. */
export function callIsListed(call: string, list: readonly string[]): boolean {
  return list.includes(call) || list.includes(call.split('-')[0]!)
}

/** Whom a question meant that was kept before a restart. @param addressee as kept */
export function addresseeAgain(
  addressee: string,
  { aliases }: { readonly aliases: readonly Alias[] },
): AddresseeKind {
  const wanted = addressee.trim().toUpperCase()
  const alias = aliases.find(({ name }) => name.toUpperCase() === wanted)
  return alias === undefined ? { kind: 'us' } : { kind: 'alias', alias }
}

/** What a name offers: all services, or those that it was given; to a name with a single one, every text is a question to it. */
export function offerOf(
  to: AddresseeKind,
  services: readonly Service[],
  vocabulary: Vocabulary | undefined,
): Offer {
  const words = vocabulary === undefined ? {} : { vocabulary }
  if (to.kind !== 'alias' || to.alias.services.length === 0) return { services, ...words }
  const own = services.filter(({ keyword }) => to.alias.services.includes(keyword))
  return { services: own, only: own.length === 1, ...words }
}
