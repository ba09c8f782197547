import { isGroupAddressee } from '../aprs/message.js'
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
  own: { readonly call: string; readonly aliases: readonly Alias[] },
): AddresseeKind {
  const wanted = addressee.trim().toUpperCase().replace(/-0$/, '')
  if (wanted === own.call) return { kind: 'us' }
  const alias = own.aliases.find(({ name }) => name.toUpperCase() === wanted)
  if (alias !== undefined) return { kind: 'alias', alias }
  return isGroupAddressee(wanted) ? { kind: 'group' } : { kind: 'other' }
}

/** True when `call` is in the list: with its SSID, or its call sign alone for every SSID. */
export function callIsListed(call: string, list: readonly string[]): boolean {
  return list.includes(call) || list.includes(call.split('-')[0]!)
}
