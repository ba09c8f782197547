import { bandOf } from '../../regulations/amateurBands.js'
import { parseBand } from '../repeaters/bands.js'
import { parseMode } from '../repeaters/modeWanted.js'
import type { Service } from '../service.js'
import { argumentWords } from './argumentWords.js'
import { isCallWord, isDesignator, isLocatorWord } from './kinds.js'
import type { Token } from './tokens.js'
import type { Offered, Understanding } from './understanding.js'

const days: ReadonlySet<string> = new Set([
  ...['today', 'tonight', 'tomorrow', 'overmorrow'],
  ...['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'],
])

const isCoordinates = (words: readonly string[]): boolean =>
  /^[+-]?\d{1,2}\.\d+[, ][+-]?\d{1,3}\.\d+$/.test(words.join(' '))

/** 'HILLSAT-1', and designators such as 'AO-91' (common practice, no source): meant to be satellites, known here or not. */
const satelliteName = /sat(-?\d{1,3})?$|^[a-z]{2,3}-\d{1,3}$/i

const nameLettersMin = 5

const isBareNumber = (word: string): boolean => /^\d{1,3}$/.test(word)

/** '144', '430': more than anybody counts, and in a band of the amateurs. */
const isBandFigure = (word: string): boolean =>
  /^\d{3}$/.test(word) && bandOf(Number(word)) !== undefined

const asksRepeaters = (word: string): boolean =>
  isBareNumber(word) || parseBand(word) !== undefined || parseMode(word) !== undefined

/** Of what so many are wanted nobody can know: those that take a number are offered with it. */
function numberAlone(number: string, services: readonly Service[]): Understanding | undefined {
  const counted = services.filter(({ keyword }) =>
    ['repeaters', 'heard', 'board'].includes(keyword),
  )
  return counted.length === 0
    ? undefined
    : { kind: 'offer', word: number, services: counted, argument: number }
}

/**
 * An argument without a service means what it would mean to a person: a band or a mode asks for repeaters, a call sign when it was
 * heard, a locator or a place where that is; a name that a service knows is asked there.
 */
export function bareArguments(
  tokens: readonly Token[],
  text: string,
  { services, vocabulary, isName }: Offered,
): Understanding | undefined {
  const words = argumentWords(tokens, { begin: tokens.length, length: 0 }, '', vocabulary)
  const telling = words.filter((word) => !['me', 'here', 'node', 'next', 'today'].includes(word))
  if (telling.length === 0) return undefined
  const guess = (service: Service | undefined): Understanding | undefined =>
    service && { kind: 'service', service, words, rest: text.trim(), manner: 'guessed' }
  const named = (wanted: string): Service | undefined =>
    services.find(({ keyword }) => keyword === wanted)
  if (telling.every((word) => word === 'all')) return numberAlone('all', services)
  if (telling.every(isBandFigure)) return guess(named('repeaters'))
  if (telling.every(isBareNumber)) return numberAlone(telling[0]!, services)
  if (telling.every(asksRepeaters)) return guess(named('repeaters'))
  if (isName !== undefined && telling.every(isName)) return guess(named('heard'))
  if (telling.every(isCallWord)) return guess(named('heard'))
  if (telling.every(isLocatorWord) || isCoordinates(telling)) return guess(named('where'))
  if (telling.every((word) => days.has(word))) return guess(named('sun'))
  const known = services.find((service) => service.recognises?.(telling) === true)
  if (known === undefined && telling.some((word) => satelliteName.test(word) || isDesignator(word)))
    return guess(named('pass'))
  return guess(known) ?? satelliteWithin(telling, text, named('pass'))
}

/** 'When can I work FIELDLARK': a satellite's name in a sentence, long enough not to be there by chance. */
function satelliteWithin(
  words: readonly string[],
  text: string,
  service: Service | undefined,
): Understanding | undefined {
  for (let length = Math.min(3, words.length); length > 0; length--)
    for (let at = 0; at + length <= words.length; at++) {
      const run = words.slice(at, at + length)
      if (run.join('').length < nameLettersMin || service?.recognises?.(run) !== true) continue
      const wanted = [...run, ...words.filter((word) => days.has(word) && !run.includes(word))]
      return { kind: 'service', service, words: wanted, rest: text.trim(), manner: 'guessed' }
    }
  return undefined
}
