import { phraseAt, phraseOf } from './findMeanings.js'
import type { Token } from './tokens.js'
import type { Vocabulary } from './vocabulary.js'

/**
 * The arguments of a question: what is known in its one form, what is not as it was sent, in the order in which it came.
 * @param named the words that named the service
 */
export function argumentWords(
  tokens: readonly Token[],
  named: { readonly begin: number; readonly length: number },
  keyword: string,
  vocabulary: Vocabulary,
): string[] {
  const { phraseMax, ignored, greetings, thanks, meanings } = vocabulary
  const words: string[] = []
  const before = tokens.slice(0, named.begin)
  for (let at = 0; at < tokens.length; ) {
    if (at >= named.begin && at < named.begin + named.length) {
      at++
      continue
    }
    // Words around the name are looked at apart from those behind it.
    const upTo = at < named.begin ? before : tokens
    const longest = (wanted: (phrase: string) => boolean): number =>
      phraseAt(upTo, at, phraseMax, wanted)
    const same = longest(
      (phrase) => phrase === keyword || meanings.get(phrase)?.keyword === keyword,
    )
    const argument = longest((phrase) => vocabulary.arguments.has(phrase))
    const polite = longest(
      (phrase) =>
        [ignored, greetings, thanks].some((words) => words.has(phrase)) ||
        phrase === 'help' ||
        meanings.get(phrase)?.keyword === 'help',
    )
    const month = isBesideNumber(tokens, at) ? vocabulary.months.get(tokens[at]!.folded) : undefined
    if (isTimeOfDay(tokens, at, keyword, vocabulary)) {
      at++
      continue
    }
    if (month !== undefined) words.push(month)
    else if (same > 0 && same >= argument)
      words.push(...(meanings.get(phraseOf(upTo, at, same))?.words ?? []))
    else if (argument > 0 && argument >= polite)
      words.push(vocabulary.arguments.get(phraseOf(upTo, at, argument))!)
    else if (polite === 0) words.push(tokens[at]!.raw)
    at += month === undefined ? Math.max(same, argument, polite, 1) : 1
  }
  return words
}

/** 'Antes de las 23', 'before 9': no day of the month, no count. */
const isTimeOfDay = (
  tokens: readonly Token[],
  at: number,
  keyword: string,
  { roles, months }: Vocabulary,
): boolean =>
  keyword === 'sun' &&
  isNumber(tokens[at]) &&
  !months.has(tokens[at + 1]?.folded ?? '') &&
  roles.get('before')?.has(tokens[at - 1]?.folded ?? '') === true

const isNumber = (token: Token | undefined): boolean => /^\d{1,2}$/.test(token?.folded ?? '')

const isBesideNumber = (tokens: readonly Token[], at: number): boolean =>
  isNumber(tokens[at - 1]) || isNumber(tokens[at + 1]) || isNumber(tokens[at - 2])
