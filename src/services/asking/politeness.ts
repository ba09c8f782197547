import { phraseAt } from './findMeanings.js'
import { isCallWord } from './kinds.js'
import type { Token } from './tokens.js'
import type { Offered, Understanding } from './understanding.js'
import type { Vocabulary } from './vocabulary.js'

const forWords: ReadonlySet<string> = new Set(['for', 'fur', 'fuer', 'pour', 'por', 'per'])

/** 'Thanks for the weather' asks for nothing. */
export function thanksFor(
  tokens: readonly Token[],
  { vocabulary }: Offered,
): Understanding | undefined {
  const length = phraseAt(tokens, 0, vocabulary.phraseMax, (phrase) =>
    vocabulary.thanks.has(phrase),
  )
  const next = tokens[length]
  return length > 0 && next && forWords.has(next.folded)
    ? { kind: 'greeting', sort: 'thanks' }
    : undefined
}

export function thanked(
  tokens: readonly Token[],
  begin: number,
  { vocabulary }: Offered,
): Understanding | undefined {
  const { thanks, greetings, cancel, phraseMax } = vocabulary
  for (const at of new Set([0, begin])) {
    const lengthIn = (words: ReadonlySet<string>): number =>
      phraseAt(tokens, at, phraseMax, (phrase) => words.has(phrase))
    const cancelled = lengthIn(cancel)
    if (cancelled > 0 && isPoliteBut(tokens, at, cancelled, vocabulary))
      return { kind: 'greeting', sort: 'cancel' }
    const thanked = lengthIn(thanks)
    if (thanked <= lengthIn(greetings)) continue
    // 'No', 'ok', 'bien' begin many a sentence that is no thanks.
    const isShort = thanked === 1 && tokens[at]!.folded.length <= 4
    if (!isShort || isPoliteBut(tokens, at, thanked, vocabulary))
      return { kind: 'greeting', sort: 'thanks' }
  }
  return undefined
}

/** Whether all other words are politeness, small words, or somebody's call. */
function isPoliteBut(
  tokens: readonly Token[],
  at: number,
  length: number,
  { ignored, greetings, thanks, arguments: known }: Vocabulary,
): boolean {
  const isSmall = ({ raw, folded }: Token): boolean =>
    [ignored, greetings, thanks].some((words) => words.has(folded)) ||
    known.has(folded) ||
    isCallWord(raw)
  return tokens.every((token, index) => (index >= at && index < at + length) || isSmall(token))
}

export function greeted(
  tokens: readonly Token[],
  begin: number,
  { vocabulary }: Offered,
): Understanding | undefined {
  const { greetings, thanks, phraseMax } = vocabulary
  const is = (words: ReadonlySet<string>): boolean =>
    [0, begin].some((at) => phraseAt(tokens, at, phraseMax, (phrase) => words.has(phrase)) > 0)
  if (is(greetings)) return { kind: 'greeting', sort: 'hello' }
  return is(thanks) ? { kind: 'greeting', sort: 'thanks' } : undefined
}
