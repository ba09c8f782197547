import { parseBand } from '../repeaters/bands.js'
import { parseMode } from '../repeaters/modeWanted.js'
import type { Service } from '../service.js'
import { argumentWords } from './argumentWords.js'
import { type Found, phraseAt, phraseOf } from './findMeanings.js'
import { isCallWord, isLocatorWord } from './kinds.js'
import type { Sentence } from './sentences/sentence.js'
import type { Offered, Understanding } from './understanding.js'

/*
 * What a sentence asks for although it begins with a word that asks for something else: 'where can I fill my bottle' wants a card, and
 * 'what is on 2 m' repeaters. Words that mean a service by themselves win over these, and so does a call sign.
 */

/** These are asked with words of any kind, so that others are looked at, too. */
const open: ReadonlySet<string> = new Set(['where', 'find', 'leave', 'help', 'post', 'clock'])

const serviceOf = ({ services }: Offered, wanted: string): Service | undefined =>
  services.find(({ keyword }) => keyword === wanted)

/** A topic or a band that the text names within. */
export const namedWithin = (sentence: Sentence, offered: Offered): Understanding | undefined =>
  sentence.tokens.some(({ raw }) => isCallWord(raw))
    ? undefined
    : (topicNamed(sentence, offered) ?? bandNamed(sentence, offered))

/** Whether the text begins with a keyword that is meant as such: only `where`, and `leave` behind other words, may be words of a sentence. */
const isAskedByKeyword = ({ first }: Sentence): boolean =>
  // 'Put on the board: spare water at Oberwald'
  (first?.service.keyword === 'post' && first.length > 1) || isKeyed(first)

const isKeyed = (first: Found | undefined): boolean =>
  first?.byKeyword === true &&
  first.service.keyword !== 'where' &&
  !(first.service.keyword === 'leave' && first.begin > 0)

/** What people look for on the way, in any language: the card on it, in whichever language that is written. */
function topicNamed(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens, first, all } = sentence
  const { topics, phraseMax } = offered.vocabulary
  const find = serviceOf(offered, 'find')
  if (find === undefined || isAskedByKeyword(sentence)) return undefined
  const named = [...tokens.keys()].filter((index) => lengthAt(index) > 0)
  // 'Food at the hut' is about food: a hut is a place, too.
  const at =
    named.find((index) => topics.get(phraseOf(tokens, index, lengthAt(index))) !== 'bed') ??
    named[0] ??
    -1
  if (at < 0) return undefined
  const length = lengthAt(at)
  const within = ({ begin }: Found): boolean => begin >= at && begin < at + length
  const isOther = (one: Found): boolean =>
    one.strong &&
    (within(one)
      ? one.length >= length
      : !open.has(one.service.keyword) || one.words[0] === 'emergency')
  if (all.some(isOther)) return undefined
  const words = tokens.slice(at, at + length).map(({ raw }) => raw)
  const isPlace = offered.services.some(
    (service) => service !== find && service.recognises?.(words) === true,
  )
  // Where nothing else is asked for it is the topic, kept here or not.
  const isAsked =
    first?.strong !== true ||
    within(first) ||
    (first.service.keyword === 'where' && first.length === 1) ||
    find.recognises?.(words) === true
  if (isPlace || !isAsked) return undefined
  return { kind: 'service', service: find, words, rest: words.join(' '), manner: 'guessed' }

  function lengthAt(index: number): number {
    return phraseAt(tokens, index, phraseMax, (phrase) => topics.has(phrase))
  }
}

/** A band, or a mode that is the name of nothing else. */
const isBandOrMode = (word: string): boolean =>
  (/[a-z]/i.test(word) && parseBand(word) !== undefined) ||
  (parseMode(word) !== undefined && !/^(fm|digital|numerique|digitale)$/i.test(word))

function bandNamed(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens, all } = sentence
  const repeaters = serviceOf(offered, 'repeaters')
  if (repeaters === undefined || isAskedByKeyword(sentence)) return undefined
  if (!tokens.some(({ raw }) => isBandOrMode(raw))) return undefined
  if (all.some(({ strong, service }) => strong && !open.has(service.keyword))) return undefined
  const nowhere = { begin: tokens.length, length: 0 }
  const where = serviceOf(offered, 'where')
  const words = argumentWords(tokens, nowhere, '', offered.vocabulary).filter(
    (word) =>
      parseBand(word) !== undefined ||
      parseMode(word) !== undefined ||
      /^\d{1,2}$/.test(word) ||
      isLocatorWord(word) ||
      where?.recognises?.([word]) === true,
  )
  const rest = words.join(' ')
  return { kind: 'service', service: repeaters, words, rest, manner: 'guessed' }
}
