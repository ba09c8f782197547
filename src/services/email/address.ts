import { parseCall } from '../callWords.js'

/*
 * Mail addresses as they may come by radio: RFC 5321's Local-part as a dot-string, and a domain name. What else the standards
 * allow is refused, because it gives a text that goes into commands and headers a way to mean something else: quoted local
 * parts, comments, display names, address literals, other scripts, and the signs by which relays were once told a further
 * way (% and !).
 */

/** RFC 5321, 4.5.3.1. */
const localOctetsMax = 64
const domainOctetsMax = 253
const addressOctetsMax = 254

/** Of RFC 5322's atext those that mean nothing to any mail system that is known. */
const localPart = /^[A-Za-z0-9_+=&'-]+(\.[A-Za-z0-9_+=&'-]+)*$/
/** RFC 1123, 2.1: letters, digits and hyphens. */
const domainLabel = /^[A-Za-z0-9]([A-Za-z0-9-]{0,61}[A-Za-z0-9])?$/

/** @returns the address with its domain in lower case; undefined for what is none, or none that is taken */
export function parseEmailAddress(word: string): string | undefined {
  if (word.length > addressOctetsMax) return undefined
  const at = word.lastIndexOf('@')
  const [local, domain] = [word.slice(0, Math.max(0, at)), word.slice(at + 1)]
  if (local.length > localOctetsMax || !localPart.test(local)) return undefined
  if (domain.length > domainOctetsMax || !domain.split('.').every((one) => domainLabel.test(one)))
    return undefined
  // Nothing but figures would be an address of the network.
  if (/^[0-9.]+$/.test(domain)) return undefined
  return `${local}@${domain.toLowerCase()}`
}

/** Both mean the same mailbox, as far as people are concerned: hardly a server tells capitals of a local part apart. */
export const sameAddress = (one: string, other: string): boolean =>
  one.toLowerCase() === other.toLowerCase()

/**
 * @param list addresses; '*@example.org' for every address there; '*' for every address
 */
export const addressIsListed = (address: string, list: readonly string[]): boolean =>
  list.some(
    (one) =>
      one === '*' ||
      sameAddress(one, address) ||
      (one.startsWith('*@') &&
        sameAddress(one.slice(2), address.slice(address.lastIndexOf('@') + 1))),
  )

/** A name that stands for an address: it begins with a letter, and no call sign can be mistaken for it. */
export const isShortName = (word: string): boolean =>
  /^[A-Za-z][A-Za-z0-9_-]{0,11}$/.test(word) && parseCall(word) === undefined

/** Of a long address its beginning, the end of which is shown by two dots. */
export const shownAddress = (address: string, charactersMax = 20): string =>
  address.length <= charactersMax ? address : `${address.slice(0, charactersMax - 2)}..`
