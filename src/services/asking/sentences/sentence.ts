import type { Role } from '../../../words/synonyms/language.js'
import { type Found, phraseAt } from '../findMeanings.js'
import { isCallWord } from '../kinds.js'
import { politeWords } from '../politeness.js'
import type { Token } from '../tokens.js'
import type { Offered, Understanding } from '../understanding.js'

/** The text as far as it is understood. */
export interface Sentence {
  readonly text: string
  readonly tokens: readonly Token[]
  /** what it begins with */
  readonly first: Found | undefined
  readonly all: readonly Found[]
}

/** A phrase of a text. */
export interface Run {
  readonly at: number
  readonly length: number
}

/** Where the text has a phrase that does this in a sentence, first to last. */
export function runsOf(
  role: Role,
  { tokens }: Pick<Sentence, 'tokens'>,
  { vocabulary: { roles, roleBegins, phraseMax } }: Offered,
): readonly Run[] {
  const phrases = roles.get(role)
  const begins = roleBegins.get(role)
  const runs: Run[] = []
  for (let at = 0; at < tokens.length; ) {
    const length =
      begins?.has(tokens[at]!.folded) === true
        ? phraseAt(tokens, at, phraseMax, (phrase) => phrases?.has(phrase) === true)
        : 0
    if (length > 0) runs.push({ at, length })
    at += Math.max(1, length)
  }
  return runs
}

export const has = (role: Role, sentence: Pick<Sentence, 'tokens'>, offered: Offered): boolean =>
  runsOf(role, sentence, offered).length > 0

/** Where call signs and tactical names stand. */
export const callsIn = ({ tokens }: Pick<Sentence, 'tokens'>, { isName }: Offered): number[] =>
  tokens.flatMap(({ raw }, at) => (isCallWord(raw) || isName?.(raw) === true ? [at] : []))

/** Small words say nothing by themselves. */
export const isSmall = ({ folded }: Token, { vocabulary }: Offered): boolean =>
  vocabulary.ignored.has(folded) ||
  vocabulary.arguments.has(folded) ||
  vocabulary.greetings.has(folded) ||
  politeWords.has(folded)

/** Whether the text begins with a keyword, behind nothing but politeness: then it means that. */
export const isByKeyword = ({ first, tokens }: Sentence): boolean =>
  first?.byKeyword === true &&
  first.service.keyword !== 'where' &&
  tokens.slice(0, first.begin).every(({ folded }) => politeWords.has(folded))

/** The place of the first word that is no greeting. */
export const opens = ({ tokens }: Pick<Sentence, 'tokens'>, { vocabulary }: Offered): number =>
  Math.max(
    0,
    tokens.findIndex(({ folded }) => !vocabulary.greetings.has(folded) && !politeWords.has(folded)),
  )

/** 'Did', 'ist', 'o no': asks what is the case; 'can you' asks for something to be done. */
export const isQuestion = (sentence: Sentence, offered: Offered): boolean =>
  has('orNot', sentence, offered) ||
  runsOf('asks', sentence, offered).some(({ at }) => at === opens(sentence, offered))

/** The text behind a word, without the signs between. */
export const textAfter = ({ text, tokens }: Sentence, at: number): string =>
  text
    .slice(at === 0 ? 0 : tokens[at - 1]!.end)
    .replace(/^[\s,:;.!?"')\]-]+/, '')
    .trim()

/** Acts on nothing: how these are asked is told, those of them that there are. */
export function offer(
  word: string,
  keywords: readonly string[],
  { services }: Offered,
  argument?: string,
): Understanding | undefined {
  const found = keywords.flatMap((wanted) => services.filter(({ keyword }) => keyword === wanted))
  if (found.length === 0) return { kind: 'absent', keyword: keywords[0]! }
  return { kind: 'offer', word, services: found, ...(argument !== undefined && { argument }) }
}

/** A service asked with these words; where it is not offered, that is told. */
export function askFor(keyword: string, rest: string, { services }: Offered): Understanding {
  const service = services.find((one) => one.keyword === keyword)
  if (service === undefined) return { kind: 'absent', keyword }
  const words = rest === '' ? [] : rest.split(/\s+/)
  return { kind: 'service', service, words, rest, manner: 'guessed' }
}
