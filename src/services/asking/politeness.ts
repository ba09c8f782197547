import { type Found, phraseAt } from './findMeanings.js'
import { isCallWord } from './kinds.js'
import type { Token } from './tokens.js'
import type { Offered, Understanding } from './understanding.js'
import type { Vocabulary } from './vocabulary.js'

export const politeWords: ReadonlySet<string> = new Set([
  ...[
    'please',
    'pls',
    'plz',
    'bitte',
    'svp',
    'stp',
    'por',
    'favor',
    'per',
    'favore',
    'hello',
    'hi',
  ],
])

const forWords: ReadonlySet<string> = new Set([
  ...['for', 'fer', '4', 'fur', 'fuer', 'furs', 'fuers', 'pour', 'por', 'per'],
])

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

/** Phrases of politeness and nothing else, of which one has a word that means a service by itself: 'bonne nuit', 'test message'. */
export function onlyPolite(
  tokens: readonly Token[],
  all: readonly Found[],
  { vocabulary }: Offered,
): Understanding | undefined {
  const { thanks, greetings, cancel, phraseMax } = vocabulary
  const sorts = new Set<'thanks' | 'hello' | 'cancel'>()
  let longest = 0
  let either = false
  for (let at = 0; at < tokens.length; ) {
    const lengthIn = (words: ReadonlySet<string>): number =>
      phraseAt(tokens, at, phraseMax, (phrase) => words.has(phrase))
    const lengths = {
      cancel: lengthIn(cancel),
      thanks: lengthIn(thanks),
      hello: lengthIn(greetings),
    }
    const length = Math.max(...Object.values(lengths))
    if (all.some((one) => one.strong && one.begin === at && one.length >= length)) return undefined
    if (length === 0 && !(at > 0 && isCallWord(tokens[at]!.raw))) return undefined
    // 'Ciao' greets and takes leave: what stands beside it decides.
    const isEither = lengths.thanks === length && lengths.hello === length
    for (const sort of ['cancel', 'thanks', 'hello'] as const)
      if (length > 0 && lengths[sort] === length && !isEither) sorts.add(sort)
    if (isEither) either = true
    longest = Math.max(longest, length)
    at += Math.max(1, length)
  }
  if (either && sorts.size === 0) sorts.add('hello')
  const sort = (['cancel', 'thanks', 'hello'] as const).find((one) => sorts.has(one))
  return (longest < 2 && (sorts.size < 2 || tokens.length < 2)) || sort === undefined
    ? undefined
    : { kind: 'greeting', sort }
}

export function thanked(
  tokens: readonly Token[],
  begin: number,
  { vocabulary, isQuestion }: Offered & { readonly isQuestion: boolean },
): Understanding | undefined {
  const { thanks, greetings, cancel, phraseMax } = vocabulary
  for (const at of new Set([0, begin])) {
    const lengthIn = (words: ReadonlySet<string>): number =>
      phraseAt(tokens, at, phraseMax, (phrase) => words.has(phrase))
    const cancelled = lengthIn(cancel)
    const isShortAlone = at === 0 && tokens.length - cancelled <= cancelledWithMax
    if (cancelled > 0 && (isShortAlone || isPoliteBut(tokens, at, cancelled, vocabulary)))
      return { kind: 'greeting', sort: 'cancel' }
    const thanked = lengthIn(thanks)
    if (thanked <= lengthIn(greetings)) continue
    // 'Je passe bien ?' thanks for nothing.
    if (isQuestion && thanked < tokens.length) continue
    // 'No', 'ok', 'bien' begin many a sentence that is no thanks.
    const isShort = thanked === 1 && tokens[at]!.folded.length <= 4
    if (!isShort || isPoliteBut(tokens, at, thanked, vocabulary))
      return { kind: 'greeting', sort: 'thanks' }
  }
  return undefined
}

/** 'Please stop sending me messages' asks for none. */
export function toldToStop(
  tokens: readonly Token[],
  begin: number,
  all: readonly Found[],
  { vocabulary }: Offered,
): Understanding | undefined {
  const { cancel, ignored, arguments: known, meanings, sending, phraseMax } = vocabulary
  const length = phraseAt(tokens, begin, phraseMax, (phrase) => cancel.has(phrase))
  // 'Para mí' is no 'stop' in Spanish.
  if (length === 0 || ignored.has(tokens[begin]!.folded)) return undefined
  // 'Cancel my message' takes one back.
  if (all.some((one) => one.strong && one.begin === begin && one.length >= length)) return undefined
  const isOfMessages = ({ folded }: Token): boolean =>
    [ignored, known, sending].some((words) => words.has(folded)) ||
    ['collect', 'leave'].includes(meanings.get(folded)?.keyword ?? '')
  return tokens.slice(begin + length).every(isOfMessages)
    ? { kind: 'greeting', sort: 'cancel' }
    : undefined
}

/** A greeting or thanks among words that nobody knows: 'abc test'. */
export function politeWithin(
  tokens: readonly Token[],
  { vocabulary: { greetings, thanks, ignored } }: Offered,
): Understanding | undefined {
  const isIn = (words: ReadonlySet<string>): boolean =>
    tokens.some(({ folded }) => folded.length > 3 && words.has(folded) && !ignored.has(folded))
  if (isIn(thanks)) return { kind: 'greeting', sort: 'thanks' }
  return isIn(greetings) ? { kind: 'greeting', sort: 'hello' } : undefined
}

/** 'Stop repeating', 'enough already': further words that make nothing else of it. */
const cancelledWithMax = 1

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
  const { greetings, thanks, phraseMax, roles } = vocabulary
  const is = (words: ReadonlySet<string>): boolean =>
    [0, begin].some((at) => phraseAt(tokens, at, phraseMax, (phrase) => words.has(phrase)) > 0)
  if (is(greetings)) return { kind: 'greeting', sort: 'hello' }
  // 'Non volevo mandarlo', 'no quería enviar eso': denies something, and thanks for nothing.
  const isDenying = tokens.length > 1 && roles.get('not')!.has(tokens[0]?.folded ?? '')
  return is(thanks) && !isDenying ? { kind: 'greeting', sort: 'thanks' } : undefined
}
