import { lettersWrong } from './distance.js'
import type { Token } from './tokens.js'
import type { Vocabulary } from './vocabulary.js'

/** A shorter word becomes another one by its ending. */
const lettersMin = 6

/** Endings that make one word of another in the five languages, each with what may stand in its place. */
const endings: readonly (readonly [string, readonly string[]])[] = [
  ['ies', ['y']],
  ['es', ['', 'e']],
  ['s', ['']],
  ['en', ['', 'e']],
  ['em', ['e']],
  ['er', ['e']],
  ['n', ['']],
  ['i', ['o', 'e']],
  ['e', ['a', '']],
  ['o', ['i']],
  ['a', ['e']],
]
const added = ['s', 'es', 'n', 'en', 'e']

/**
 * The words of a text, those that no list has in the form that one has: 'wettter', 'hellooo' and 'storms' are 'wetter', 'hello' and
 * 'storm'. Words with figures, and what no form of is known, stay as they came.
 */
export function inKnownForms(
  tokens: readonly Token[],
  { words, parts, keywords }: Vocabulary,
): readonly Token[] {
  return tokens.map((token) => {
    const { folded } = token
    if (parts.has(folded) || keywords.has(folded) || !/^[a-z]{4,24}$/.test(folded)) return token
    const form =
      squeezed(folded).find((one) => words.has(one) || keywords.has(one)) ??
      inflected(folded).find((one) => words.has(one) && !acting.has(one)) ??
      (tokens.length > 1 ? nearest(folded, words) : undefined)
    return form === undefined ? token : { ...token, folded: form }
  })
}

/** Keywords that put or leave something: a form of a word is none of them, so that 'Posten 3' posts nothing. */
const acting: ReadonlySet<string> = new Set(['post', 'leave', 'tell', 'reply', 'back'])

/** A word of so many letters with one of them wrong is no other word. */
const wrongLettersMin = 8

function nearest(word: string, words: ReadonlySet<string>): string | undefined {
  if (word.length < wrongLettersMin) return undefined
  for (const one of words)
    if (one.length >= wrongLettersMin && lettersWrong(word, one, 1) <= 1) return one
  return undefined
}

const squeezed = (word: string): readonly string[] =>
  [
    word.replace(/(.)\1{2,}/g, '$1$1'),
    word.replace(/(.)\1{2,}/g, '$1'),
    word.replace(/(.)\1$/, '$1'),
    ...(word.length < lettersMin ? [] : [word.replace(/(.)\1+/g, '$1')]),
  ].filter((one) => one !== word && one.length >= (/(.)\1{2}/.test(word) ? 2 : 4))

function inflected(word: string): readonly string[] {
  if (word.length < lettersMin)
    return word.length === lettersMin - 1 && word.endsWith('s') ? [word.slice(0, -1)] : []
  const ended = endings.flatMap(([ending, others]) =>
    word.endsWith(ending)
      ? others.map((other) => word.slice(0, word.length - ending.length) + other)
      : [],
  )
  return [...ended, ...added.map((ending) => word + ending)].filter((one) => one.length >= 4)
}
