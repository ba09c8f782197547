import type { Offered, Understanding } from '../understanding.js'
import {
  askFor,
  callsIn,
  has,
  isByKeyword,
  isQuestion,
  offer,
  type Run,
  runsOf,
  type Sentence,
} from './sentence.js'

/** More words behind a call are a text: 'msg Q1ABC delivered?' has none. */
const textWordsMin = 3
/** Words between 'my' and what is mine: 'il mio ultimo messaggio'. */
const apartMax = 2

const isBehind = ({ at, length }: Run, nouns: readonly Run[]): boolean =>
  nouns.some((noun) => noun.at >= at + length && noun.at - at - length < apartMax)

/**
 * 'Did Q1DEF get my message', 'le llegó mi recado a Q1ABC o no', 'has Q1ABC collected it': what became of what somebody left. A word for
 * arriving, with a message of one's own or a station, as a question or as one's own: nothing is left for anybody by it.
 */
export function sentMessage(sentence: Sentence, offered: Offered): Understanding | undefined {
  if (isByKeyword(sentence) || isImperative(sentence, offered)) return undefined
  const asks = isQuestion(sentence, offered) || sentence.text.includes('?')
  const calls = callsIn(sentence, offered)
  const nouns = runsOf('message', sentence, offered)
  const mine = runsOf('mine', sentence, offered)
  const isMine =
    mine.some((one) => isBehind(one, nouns)) || nouns.some((one) => isBehind(one, mine))
  if (has('forMe', sentence, offered)) return undefined
  const isOfStation = calls.length > 0 || /\S@\S/.test(sentence.text)
  const delivered = has('delivered', sentence, offered)
  const arrived = delivered || has('arrived', sentence, offered)
  if (nouns.length > 0 && arrived && ((asks && isOfStation) || isMine))
    return askFor('mail', '', offered)
  if (calls.length === 1 && delivered && asks && calls[0]! < sentence.tokens.length - 1)
    return offer(sentence.tokens[calls[0]!]!.raw, ['mail', 'heard'], offered)
  return undefined
}

/** 'Message for Q1ABC: got yours', 'sag Q1ABC meine Nachricht kam an': begins with what leaves one, and who gets it. */
function isImperative(sentence: Sentence, offered: Offered): boolean {
  const { first, tokens } = sentence
  // 'Msg Q1ABC did you see the weather?'
  const [noun] = runsOf('message', sentence, offered)
  const [call] = callsIn(sentence, offered)
  if (noun?.at === 0 && call === noun.length && tokens.length > call + textWordsMin) return true
  if (first?.service.keyword !== 'leave' || !first.strong) return false
  const before = { tokens: tokens.slice(0, first.begin) }
  return !has('mine', before, offered) && !has('asks', before, offered)
}

/** A sentence that asks or has a condition leaves nothing: what may have been meant is offered. */
export function leavesNothing(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { first, all, tokens } = sentence
  if (isByKeyword(sentence)) return undefined
  const leaving = first?.service.keyword === 'leave' ? first : all.find(isLeaving)
  if (leaving === undefined) return undefined
  const before = { tokens: tokens.slice(0, leaving.begin) }
  const call = callsIn(sentence, offered)[0]
  if (call === undefined) return undefined
  const { raw } = tokens[call]!
  // 'Si puedes avisa a Q1ABC' asks politely.
  const condition = runsOf('if', before, offered)[0]
  const isPolite =
    condition !== undefined &&
    before.tokens
      .slice(condition.at + condition.length)
      .every(({ folded }) => offered.vocabulary.ignored.has(folded))
  if (condition !== undefined && !isPolite) return offer(raw, ['tell', 'back', 'leave'], offered)
  const isMine = runsOf('mine', before, offered).some(
    ({ at, length }) => at + length === leaving.begin,
  )
  const asks = isQuestion({ ...sentence, tokens: before.tokens }, offered)
  const isQuestionMark = /\?/.test(sentence.text) && isMine
  return (asks && before.tokens.length > 0) || isQuestionMark
    ? offer(raw, ['mail', 'leave'], offered)
    : undefined
}

const isLeaving = ({ service, strong }: Sentence['all'][number]): boolean =>
  strong && ['leave', 'tell'].includes(service.keyword)
