import { parseBand } from '../repeaters/bands.js'
import type { Service } from '../service.js'
import { argumentWords } from './argumentWords.js'
import { isCallWord, isLocatorWord } from './kinds.js'
import type { Token } from './tokens.js'
import type { Offered, Understanding } from './understanding.js'

const days: ReadonlySet<string> = new Set(['today', 'tonight', 'tomorrow', 'overmorrow'])
const isCount = (word: string): boolean => /^\d{1,3}$/.test(word)

/**
 * An argument without a service means what it would mean to a person: a number or a band asks for repeaters, a call sign when it was
 * heard, a locator or a place where that is; a name that a service knows is asked there.
 */
export function bareArguments(
  tokens: readonly Token[],
  text: string,
  { services, vocabulary }: Offered,
): Understanding | undefined {
  const words = argumentWords(tokens, { begin: tokens.length, length: 0 }, '', vocabulary)
  const telling = words.filter((word) => !['me', 'here', 'node', 'next', 'today'].includes(word))
  if (telling.length === 0) return undefined
  const guess = (service: Service | undefined): Understanding | undefined =>
    service && { kind: 'service', service, words, rest: text.trim(), manner: 'guessed' }
  const named = (wanted: string): Service | undefined =>
    services.find(({ keyword }) => keyword === wanted)
  if (telling.every((word) => isCount(word) || parseBand(word) !== undefined))
    return guess(named('repeaters'))
  if (telling.every(isCallWord)) return guess(named('heard'))
  if (telling.every(isLocatorWord)) return guess(named('where'))
  if (telling.every((word) => days.has(word))) return guess(named('sun'))
  return guess(services.find((service) => service.recognises?.(telling) === true))
}
