import { lettersWrong, wrongLettersMax } from '../distance.js'
import type { Token } from '../tokens.js'
import { offerToLeave, toWords } from '../toStations.js'
import type { Offered, Understanding } from '../understanding.js'
import {
  askFor,
  callsIn,
  has,
  isByKeyword,
  isQuestion,
  isSmall,
  offer,
  runsOf,
  type Sentence,
  textAfter,
} from './sentence.js'

/**
 * 'Laiser un mesage a Q1ABC on arrive', 'stop waiting for me, message to Q1ABC: go on', 'msg a Q1ABC la strada è aperta?': a word for a
 * message, mistyped or not, and who gets it; what stands behind is the message, whatever it asks.
 */
export function messageHeaded(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { text, tokens, first } = sentence
  const [call] = callsIn(sentence, offered)
  if (call === undefined || call < 2 || call === tokens.length - 1) return undefined
  if (isByKeyword(sentence) && first?.service.keyword !== 'leave') return undefined
  const noun = call - 2
  if (!toWords.has(tokens[call - 1]!.folded) || !isMessageNoun(tokens[noun]!, offered))
    return undefined
  // 'Nachricht an': a phrase that leaves one by itself
  const isPhrase = first?.service.keyword === 'leave' && !first.byKeyword
  if (isPhrase && first.begin + first.length > noun) return undefined
  const hasColon = /^\s*:/.test(text.slice(tokens[call]!.end))
  const clause = { tokens: clauseBefore(sentence, noun) }
  const isRefused = has('not', clause, offered) || has('off', clause, offered)
  const isAskedOf = isQuestion({ ...sentence, ...clause }, offered)
  if (isRefused || isAskedOf || has('mine', clause, offered)) return undefined
  const leaves = clause.tokens.some((token) => isLeavingVerb(token, offered))
  const isHead = clause.tokens.every(
    (token) => isSmall(token, offered) || isLeavingVerb(token, offered),
  )
  // 'Any message for Q1ABC today?' asks.
  const isAsked = text.includes('?') && noun > 0 && !leaves
  const isWhole = clause.tokens.length === noun
  if (!isHead || (!hasColon && (isAsked || !isWhole))) return undefined
  return askFor('leave', `${tokens[call]!.raw} ${textAfter(sentence, call + 1)}`, offered)
}

/** The words between the last comma or full stop and a place. */
function clauseBefore({ text, tokens }: Sentence, before: number): readonly Token[] {
  let begin = before
  while (begin > 0 && !/[,.;!]/.test(text.slice(tokens[begin - 1]!.end).slice(0, 1))) begin--
  return tokens.slice(begin, before)
}

const isMessageNoun = ({ folded }: Token, { vocabulary }: Offered): boolean => {
  const nouns = vocabulary.roles.get('message')!
  return nouns.has(folded) || isNearOne(folded, nouns)
}

function isLeavingVerb({ folded }: Token, { vocabulary }: Offered): boolean {
  const { sending, putting, roles, meanings } = vocabulary
  if (folded === 'leave' || meanings.get(folded)?.keyword === 'leave') return true
  const verbs = [sending, putting, roles.get('left')!]
  return verbs.some((list) => list.has(folded) || isNearOne(folded, list))
}

/** A word with a letter wrong, of five letters and more. */
function isNearOne(word: string, list: ReadonlySet<string>): boolean {
  const limit = Math.min(1, wrongLettersMax(word))
  if (limit === 0 || !/^[a-z]+$/.test(word)) return false
  for (const one of list)
    if (wrongLettersMax(one) > 0 && lettersWrong(word, one, limit) <= limit) return true
  return false
}

/** 'Ask Q1ABC if he has a rope', 'frag Q1ABC ob ...': for somebody else, and how it is left is told. */
export function stationAsked(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens } = sentence
  if (isByKeyword(sentence)) return undefined
  const [call] = callsIn(sentence, offered)
  const [ask] = runsOf('ask', sentence, offered)
  if (ask === undefined || call === undefined || call === tokens.length - 1) return undefined
  const between = tokens.slice(ask.at + ask.length, call)
  const isBegun = tokens.slice(0, ask.at).every((token) => isSmall(token, offered))
  return isBegun && call > ask.at && between.every(({ folded }) => toWords.has(folded))
    ? offerToLeave(tokens[call]!, offered)
    : undefined
}

/** Words that nothing is known of make a guess at a single one of them too bold. */
const strangeMin = 2

/** 'Ich mach mir Sorgen um Q1ABC', 'call Q1ABC': of a station that is named, what can be asked is told. */
export function namedStation(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens } = sentence
  const [call, ...others] = callsIn(sentence, offered)
  if (call === undefined || others.length > 0) return undefined
  const strange = tokens.filter((token, at) => at !== call && !isSmall(token, offered))
  if (strange.length < strangeMin) return undefined
  return stationOffered(sentence, offered)
}

/** The same, where nothing else was understood. */
export function stationOffered(sentence: Sentence, offered: Offered): Understanding | undefined {
  const [call, ...others] = callsIn(sentence, offered)
  if (call === undefined || others.length > 0) return undefined
  const { raw } = sentence.tokens[call]!
  const told = offer(raw, ['heard', 'where', 'leave'], offered, raw)
  return told?.kind === 'offer' ? told : undefined
}
