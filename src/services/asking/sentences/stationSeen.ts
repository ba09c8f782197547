import type { Offered, Understanding } from '../understanding.js'
import {
  askFor,
  callsIn,
  has,
  isByKeyword,
  isQuestion,
  opens,
  runsOf,
  type Sentence,
} from './sentence.js'

/** 'Ich mach mir Sorgen um Q1ABC', 'worried about Q1ABC, any news': when that station was heard. */
export function worriedAbout(sentence: Sentence, offered: Offered): Understanding | undefined {
  const [call, ...others] = callsIn(sentence, offered)
  if (isByKeyword(sentence) || call === undefined || others.length > 0) return undefined
  const [worried] = runsOf('worried', sentence, offered)
  // 'Tell Q1ABC not to worry' is for that station.
  return worried === undefined || worried.at > call || has('not', sentence, offered)
    ? undefined
    : askFor('heard', sentence.tokens[call]!.raw, offered)
}

const overdueWord = /^(overdue|uberfallig|ueberfaellig)$/

/** 'My wife Q1ABC is 3 hours overdue': when that station was heard; 'overdue 18:00 Q1ABC' begins a watch. */
export function othersOverdue(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens, all } = sentence
  const [call, ...others] = callsIn(sentence, offered)
  const overdue = tokens.findIndex(({ folded }) => overdueWord.test(folded))
  if (isByKeyword(sentence) || call === undefined || others.length > 0) return undefined
  if (overdue <= opens(sentence, offered)) return undefined
  // 'Tell Q1ABC I am overdue' is for that station.
  const isOther = all.some(({ strong, service }) => strong && service.keyword !== 'back')
  return isOther ? undefined : askFor('heard', tokens[call]!.raw, offered)
}

/** 'T'as vu passer Q1RST-9 ?', 'has N0CALL-9 got to the hut yet': where that station is; satellites and huts have no call signs. */
export function stationSeen(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { text, tokens, all } = sentence
  const calls = callsIn(sentence, offered)
  const [seen] = runsOf('seen', sentence, offered)
  if (isByKeyword(sentence) || calls.length !== 1 || seen === undefined) return undefined
  if (!text.includes('?') && !isQuestion(sentence, offered)) return undefined
  if (has('message', sentence, offered)) return undefined
  // 'Seen Q1ABC?', 'Q1ABC arrived?' ask only whether it is there.
  if (calls[0] === 0 || seen.at === 0) return undefined
  const isOther = all.some(
    ({ strong, service }) => strong && !['pass', 'find'].includes(service.keyword),
  )
  const isUrgent = all.some(({ words }) => words[0] === 'emergency')
  const where = offered.services.find(({ keyword }) => keyword === 'where')
  if (isOther || isUrgent || where === undefined) return undefined
  const { raw } = tokens[calls[0]!]!
  return askFor('where', raw, offered)
}
