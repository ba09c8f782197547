import { phraseAt } from '../findMeanings.js'
import { meaningOf } from '../meaningOf.js'
import type { Offered, Understanding } from '../understanding.js'
import { askFor, callsIn, has, isByKeyword, opens, runsOf, type Sentence } from './sentence.js'

/** Services of which a message to come is no alert: 'tell me when the sun sets' asks for the time. */
const notOfTimes: ReadonlySet<string> = new Set([
  'conditions',
  'tell',
  'leave',
  'help',
  'back',
  'collect',
])

/**
 * 'Let me know when it rains', 'weck mich um 6': an alert that no node keeps. `tell` says of what it can tell; a weather report now
 * would be no answer.
 */
export function alertWanted(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens, text, all } = sentence
  const { topics, phraseMax } = offered.vocabulary
  if (isByKeyword(sentence) || callsIn(sentence, offered).length > 0) return undefined
  const [me] = runsOf('tellMe', sentence, offered)
  if (me === undefined || me.at > opens(sentence, offered) + 1) return undefined
  const behind = { tokens: tokens.slice(me.at + me.length) }
  const isTimed = behind.tokens.some(({ folded }, at) => /^\d{1,2}/.test(folded) && at < 3)
  if (!has('when', behind, offered) && !has('if', behind, offered) && !isTimed) return undefined
  const isTopic = tokens.some(
    (_, at) => phraseAt(tokens, at, phraseMax, (phrase) => topics.has(phrase)) > 0,
  )
  const other = all.find(({ strong, service }) => strong && !notOfTimes.has(service.keyword))
  if (other !== undefined && other.tokens === undefined && !isTimed) {
    const wanted = new Set(tokens.slice(other.begin, other.begin + other.length))
    const told = [me, ...runsOf('when', sentence, offered), ...runsOf('if', sentence, offered)]
    const others = tokens.filter(
      (token, at) =>
        wanted.has(token) || !told.some((run) => at >= run.at && at < run.at + run.length),
    )
    const begin = others.indexOf(tokens[other.begin]!)
    return meaningOf({ ...other, begin }, text, others, offered, 'guessed')
  }
  return isTopic && !isTimed ? undefined : askFor('tell', noStation, offered)
}

/** What `tell` takes for no call sign: '6pm' might be one. */
const noStation = 'no station'
