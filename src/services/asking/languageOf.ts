import { phraseAt, phraseOf } from './findMeanings.js'
import { tokensOf } from './tokens.js'
import type { Vocabulary } from './vocabulary.js'

/** Behind a keyword these are sent as they are in every language: 'pass next', 'sun moon', 'mail cancel 3'. */
const usageWords: ReadonlySet<string> = new Set([
  ...['next', 'all', 'more', 'moon', 'objects', 'me', 'off', 'cancel'],
])

/**
 * The language that a text is written in, by the words that only one language has; undefined where there are none, or as many of
 * another one: keywords, call signs and numbers are everybody's.
 */
export function languageOf(
  text: string,
  { languages, phraseMax, keywords }: Pick<Vocabulary, 'languages' | 'phraseMax' | 'keywords'>,
): string | undefined {
  const tokens = tokensOf(text)
  const isKeyword = keywords.has(tokens[0]?.folded ?? '')
  const isEverybodys = (phrase: string): boolean =>
    !/\p{L}/u.test(phrase) || (isKeyword && usageWords.has(phrase))
  const weights = new Map<string, number>()
  for (let at = 0; at < tokens.length; ) {
    const length = phraseAt(
      tokens,
      at,
      phraseMax,
      (phrase) => languages.has(phrase) && !isEverybodys(phrase),
    )
    if (length > 0) {
      const language = languages.get(phraseOf(tokens, at, length))!
      weights.set(language, (weights.get(language) ?? 0) + length)
    }
    at += Math.max(1, length)
  }
  const [first, second] = [...weights].sort(([, a], [, b]) => b - a)
  return first === undefined || first[1] === second?.[1] ? undefined : first[0]
}
