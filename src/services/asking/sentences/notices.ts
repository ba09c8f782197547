import { phraseAt } from '../findMeanings.js'
import type { Offered, Understanding } from '../understanding.js'
import {
  askFor,
  has,
  isByKeyword,
  isSmall,
  offer,
  opens,
  runsOf,
  type Sentence,
  textAfter,
} from './sentence.js'

/** 'Delete my notice': nobody takes one down by asking; the board is told. */
export function noticeTakenBack(sentence: Sentence, offered: Offered): Understanding | undefined {
  if (isByKeyword(sentence) || sentence.text.includes('?')) return undefined
  const [off] = runsOf('off', sentence, offered)
  const [noun] = runsOf('notice', sentence, offered)
  if (off?.at !== opens(sentence, offered) || noun === undefined) return undefined
  if (!has('mine', sentence, offered) || has('watch', sentence, offered)) return undefined
  return offer(sentence.tokens[noun.at]!.raw, ['board'], offered)
}

/** Words that may stand between verb and noun: 'escribir un mensaje en el tablón'. */
const apartMax = 4

/** Fewer words before 'put it on the board' are no notice. */
const noticeWordsMin = 2

/** A notice of one's own: 'put up a notice: hut closed', 'dog found, put it on the board', 'notice: fox hunt at two'. */
export function noticeToPost(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens, first, all } = sentence
  const { putting, phraseMax } = offered.vocabulary
  if (!offered.services.some(({ keyword }) => keyword === 'post')) return undefined
  const headed = headedNotice(sentence, offered)
  if (headed !== undefined) return askFor('post', headed, offered)
  const verb = headedByVerb(sentence, offered)
  if (verb !== undefined) return offer(verb, ['post', 'leave'], offered)
  const ours = first?.service.keyword ?? 'board'
  const isOurs =
    ['board', 'leave', 'help'].includes(ours) || (ours === 'post' && first?.byKeyword === false)
  const noun = all.find(({ service, strong }) => strong && service.keyword === 'board')
  if (noun === undefined || !(isOurs || noun.begin > 0) || isByKeyword(sentence)) return undefined
  for (const at of tokens.keys()) {
    const length = phraseAt(tokens, at, phraseMax, (phrase) => putting.has(phrase))
    if (length === 0) continue
    const between = at < noun.begin ? noun.begin - at - length : at - noun.begin - noun.length
    if (between < 0 || between > apartMax) continue
    const begin = Math.min(at, noun.begin)
    const behind = textAfter(sentence, Math.max(at + length, noun.begin + noun.length))
    const before = tokens.slice(0, begin).filter((token) => !isSmall(token, offered))
    if (behind !== '') return isOurs ? askFor('post', behind, offered) : undefined
    if (before.length < noticeWordsMin) return isOurs ? askFor('post', '', offered) : undefined
    const told = sentence.text.slice(0, before.at(-1)!.end).replace(/[\s,:;.-]+$/, '')
    return askFor('post', told.trim(), offered)
  }
  return undefined
}

/** 'Aushang: Fuchsjagd um zwei': the word for a notice with a colon, and what it says. */
function headedNotice(sentence: Sentence, offered: Offered): string | undefined {
  const { text, tokens } = sentence
  if (text.includes('?')) return undefined
  const noun = runsOf('notice', sentence, offered).find(({ at, length }) =>
    /^\s*:/.test(text.slice(colonFrom(sentence, at + length))),
  )
  if (noun === undefined) return undefined
  const isVerb = ({ folded }: (typeof tokens)[number]): boolean =>
    offered.vocabulary.putting.has(folded) || offered.vocabulary.ignored.has(folded)
  if (!tokens.slice(0, noun.at).every(isVerb)) return undefined
  const told = textAfter(sentence, noun.at + noun.length)
  return told.split(/\s+/).length < noticeWordsMin ? undefined : told
}

/** 'Häng auf: Schlüssel gefunden': perhaps a notice; how one is put up is told. */
function headedByVerb({ text, tokens }: Sentence, { vocabulary }: Offered): string | undefined {
  const { putting, phraseMax } = vocabulary
  const length = phraseAt(tokens, 0, phraseMax, (phrase) => putting.has(phrase))
  const isHead = length > 0 && /^\s*:/.test(text.slice(tokens[length - 1]!.end))
  if (!isHead || tokens.length - length < noticeWordsMin) return undefined
  return tokens
    .slice(0, length)
    .map(({ raw }) => raw)
    .join(' ')
}

const colonFrom = ({ tokens }: Sentence, at: number): number => tokens[at - 1]?.end ?? 0

/** 'À vendre antenne': for the board, and how to put it there is told. */
export function forSale(sentence: Sentence, offered: Offered): Understanding | undefined {
  const [sale] = runsOf('sale', sentence, offered)
  if (sale?.at !== 0 || sentence.tokens.length < noticeWordsMin + 1 || isByKeyword(sentence))
    return undefined
  const word = sentence.tokens.slice(0, sale.length)
  return offer(word.map(({ raw }) => raw).join(' '), ['post'], offered)
}
