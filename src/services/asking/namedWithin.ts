import { parseBand } from '../repeaters/bands.js'
import { parseMode } from '../repeaters/modeWanted.js'
import type { Service } from '../service.js'
import { argumentWords } from './argumentWords.js'
import { type Found, phraseAt } from './findMeanings.js'
import { isCallWord, isLocatorWord } from './kinds.js'
import type { Token } from './tokens.js'
import type { Offered, Understanding } from './understanding.js'

/*
 * What a sentence asks for although it begins with a word that asks for something else: 'where can I fill my bottle' wants a card, and
 * 'what is on 2 m' repeaters. Words that mean a service by themselves win over these, and so does a call sign.
 */

/** The text as far as it is understood. */
export interface Sentence {
  readonly tokens: readonly Token[]
  /** what it begins with */
  readonly first: Found | undefined
  readonly all: readonly Found[]
}

/** These are asked with words of any kind, so that others are looked at, too. */
const open: ReadonlySet<string> = new Set(['where', 'find', 'leave', 'help', 'post', 'clock'])

const serviceOf = ({ services }: Offered, wanted: string): Service | undefined =>
  services.find(({ keyword }) => keyword === wanted)

/** A topic, a band or a notice that the text names within. */
export const namedWithin = (sentence: Sentence, offered: Offered): Understanding | undefined =>
  sentence.tokens.some(({ raw }) => isCallWord(raw))
    ? undefined
    : (noticeToPost(sentence, offered) ??
      topicNamed(sentence, offered) ??
      bandNamed(sentence, offered))

/** Whether the text begins with a keyword that is meant as such: only `where`, and `leave` behind other words, may be words of a sentence. */
const isAskedByKeyword = ({ first }: Sentence): boolean =>
  first?.byKeyword === true &&
  first.service.keyword !== 'where' &&
  !(first.service.keyword === 'leave' && first.begin > 0)

/** What people look for on the way, in any language: the card on it, in whichever language that is written. */
function topicNamed(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens, first, all } = sentence
  const { topics, phraseMax } = offered.vocabulary
  const find = serviceOf(offered, 'find')
  if (find === undefined || isAskedByKeyword(sentence)) return undefined
  const at = tokens.findIndex((_, index) => lengthAt(index) > 0)
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

/** Words that may stand between verb and noun: 'escribir un mensaje en el tablón'. */
const apartMax = 4

/** 'Put up a notice: hut closed', 'an die Pinnwand schreiben': a verb beside the board means a notice of one's own. */
function noticeToPost(
  { tokens, first, all }: Sentence,
  offered: Offered,
): Understanding | undefined {
  const { putting, phraseMax } = offered.vocabulary
  const post = serviceOf(offered, 'post')
  const ours = first?.service.keyword ?? 'board'
  const isOurs =
    ['board', 'leave', 'help'].includes(ours) || (ours === 'post' && first?.byKeyword === false)
  const noun = all.find(({ service, strong }) => strong && service.keyword === 'board')
  if (post === undefined || noun === undefined || !isOurs) return undefined
  for (const at of tokens.keys()) {
    const length = phraseAt(tokens, at, phraseMax, (phrase) => putting.has(phrase))
    if (length === 0) continue
    const between = at < noun.begin ? noun.begin - at - length : at - noun.begin - noun.length
    if (between < 0 || between > apartMax) continue
    const end = Math.max(at + length, noun.begin + noun.length)
    const words = tokens.slice(end).map(({ raw }) => raw)
    return { kind: 'service', service: post, words, rest: words.join(' '), manner: 'guessed' }
  }
  return undefined
}
