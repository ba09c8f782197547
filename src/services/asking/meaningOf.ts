import type { Service } from '../service.js'
import { argumentWords } from './argumentWords.js'
import { type Found, findAll } from './findMeanings.js'
import { fold } from './fold.js'
import { isCallWord } from './kinds.js'
import { politeWords } from './politeness.js'
import type { Token } from './tokens.js'
import type { Offered, Other, Understanding } from './understanding.js'

export const asked = (service: Service, words: readonly string[], rest: string) =>
  ({ kind: 'service', service, words, rest, manner: 'asked' }) as const

export function meaningOf(
  found: Found,
  text: string,
  tokens: readonly Token[],
  offered: Offered,
  manner: 'asked' | 'guessed',
): Understanding {
  const { service, begin, length } = found
  if (service.takes === 'text') {
    const rest = isHardlyText(found, text, tokens, offered)
      ? ''
      : restAfter(text, tokens, { at: begin + length, service }, offered)
    const words = rest === '' ? [] : rest.split(/\s+/)
    // 'find emergency' may be meant by a word alone.
    if (found.words.length === 0) {
      const named = found.byKeyword ? service.instead?.(rest) : undefined
      const meant = offered.services.find(({ keyword }) => keyword === named) ?? service
      return { kind: 'service', service: meant, words, rest, manner }
    }
    return { kind: 'service', service, words: found.words, rest: found.words.join(' '), manner }
  }
  const second = secondOf(found, tokens, offered)
  const more = second === undefined ? moreBehindAnd(found, tokens, offered) : undefined
  const asked =
    second !== undefined
      ? tokens.filter((_, at) => at < second.begin || at >= second.begin + second.length)
      : more === undefined
        ? tokens
        : tokens.slice(0, more.at)
  const others = argumentWords(asked, { begin, length }, service.keyword, offered.vocabulary)
  const all = [...found.words, ...others.filter((word) => !found.words.includes(word))]
  const given = asksBoth(found, tokens, offered) ? all.filter((word) => word !== 'moon') : all
  const ofDay = tokens.filter(({ folded }) => laterWord.test(folded)).map(({ raw }) => raw)
  const isAhead =
    service.keyword === 'conditions' &&
    (given.includes('tonight') || ofDay.length > 0) &&
    !given.includes('forecast')
  const words = isAhead ? ['forecast', ...given.filter((word) => !ofDay.includes(word))] : given
  const end = tokens[begin + length - 1]?.end ?? 0
  const rest = text.slice(end).trim()
  const meaning = { kind: 'service', service, words, rest, manner } as const
  if (second !== undefined) return { ...meaning, other: { service: second.service } }
  return more === undefined ? meaning : { ...meaning, other: more.other }
}

/** 'Weather and bus', 'wx Oberwald and Valmont': behind an 'and' a topic of the cards, or another place. */
function moreBehindAnd(
  { service, begin, length }: Found,
  tokens: readonly Token[],
  { services, vocabulary }: Offered,
): { readonly at: number; readonly other: Other } | undefined {
  const at = tokens.findIndex(({ folded }) => andWord.test(folded))
  if (!askedTogether.has(service.keyword) || at < begin + length) return undefined
  const words = tokens
    .slice(at + 1)
    .filter(({ folded }) => !vocabulary.ignored.has(folded))
    .map(({ raw }) => raw)
  const argument = words.join(' ')
  if (words.length === 0 || words.length > namedWordsMax) return undefined
  const named = (keyword: string) => services.find((one) => one.keyword === keyword)
  const before = tokens.slice(begin + length, at).map(({ raw }) => raw)
  const where = named('where')
  const isPlace = (some: readonly string[]): boolean => where?.recognises?.(some) === true
  if (isPlace(words))
    return before.some((_, from) => isPlace(before.slice(from)))
      ? { at, other: { service, argument } }
      : undefined
  const find = named('find')
  const isTopic = words.every((word) => vocabulary.topics.has(fold(word)))
  return isTopic && find?.recognises?.(words) === true
    ? { at, other: { service: find, argument } }
    : undefined
}

/** 'Colle Verde' */
const namedWordsMax = 2

/** 'Gewitter heute Nachmittag' is of what comes, and a dry present would be taken for a no. */
const laterWord = /^(nachmittags?|afternoon|pomeriggio|midi)$/

const sunWord =
  /^(sun|sunset|sunrise|sonne|sonnenunter|sonnenauf|soleil|sol|sole|tramonto|alba|aube)/
const andWord = /^(and|und|et|y|e)$/

/** 'Coucher soleil et lune': the answer on the sun has the moon's phase, that on the moon nothing of the sun. */
const asksBoth = (
  { service }: Found,
  tokens: readonly Token[],
  { vocabulary: { meanings } }: Offered,
): boolean =>
  service.keyword === 'sun' &&
  tokens.some(
    ({ folded }) => sunWord.test(folded) && meanings.get(folded)?.words.includes('moon') !== true,
  ) &&
  tokens.some(({ folded }) => andWord.test(folded))

/** 'Weather and sunset': what is asked for besides, behind what is answered. */
function secondOf(
  { service, begin, length }: Found,
  tokens: readonly Token[],
  offered: Offered,
): Found | undefined {
  return findAll(tokens, 0, offered).find(
    (one) =>
      one.strong &&
      one.service !== service &&
      one.tokens === undefined &&
      one.begin >= begin + length &&
      askedTogether.has(one.service.keyword) &&
      !offered.vocabulary.arguments.has(tokens[one.begin]!.folded),
  )
}

const askedTogether: ReadonlySet<string> = new Set(['repeaters', 'conditions', 'pass', 'sun'])

const asksForLetters =
  ({ meanings }: Offered['vocabulary']) =>
  ({ folded }: Token): boolean =>
    meanings.get(folded)?.keyword === 'collect'

/** 'Post da?' asks for letters, as a German would; 'post hello' and 'post again' post. */
const isHardlyText = (
  { service, begin, length, byKeyword }: Found,
  text: string,
  tokens: readonly Token[],
  { vocabulary }: Offered,
): boolean =>
  byKeyword &&
  service.keyword === 'post' &&
  (text.includes('?') ||
    tokens.slice(begin + length).some(asksForLetters(vocabulary)) ||
    tokens.slice(begin + length).every(({ folded }) => politeWords.has(folded))) &&
  tokens
    .slice(begin + length)
    .every(
      ({ folded }) =>
        (vocabulary.ignored.has(folded) && !vocabulary.greetings.has(folded)) ||
        vocabulary.meanings.get(folded)?.keyword === 'collect',
    )

/** A person's text as sent; what stands between the service's name and a call sign is left out: 'leave a message for N0CALL …'. */
function restAfter(
  text: string,
  tokens: readonly Token[],
  { at: after, service }: { readonly at: number; readonly service: Service },
  { vocabulary, isName }: Offered,
): string {
  let at = after
  // What a club's own service takes is its own affair.
  const isSmall = ({ raw, folded }: Token): boolean =>
    isName?.(raw) !== true &&
    (vocabulary.ignored.has(folded) ||
      vocabulary.meanings.has(folded) ||
      vocabulary.roles.get('message')?.has(folded) === true)
  while (service.keyword === 'leave' && at < tokens.length && isSmall(tokens[at]!)) at++
  // 'A msg to Dave': who gets it stands behind small words, call sign or not.
  const isBehind =
    service.keyword === 'leave' && (at === tokens.length || !isCallWord(tokens[after]!.raw))
  const from = isBehind ? at : after
  const end = from === 0 ? 0 : tokens[from - 1]!.end
  return text
    .slice(end)
    .replace(/^[\s,:;.!?"')\]-]+/, '')
    .trim()
}
