import type { Offered, Understanding } from '../understanding.js'
import { askFor, callsIn, has, isByKeyword, offer, runsOf, type Sentence } from './sentence.js'

/** 'Ping me when Q1KLM shows up', 'dès que tu entends Q1LMN préviens-moi': who asks is told once when that station is heard. */
export function tellWhenHeard(sentence: Sentence, offered: Offered): Understanding | undefined {
  if (isByKeyword(sentence)) return undefined
  const calls = callsIn(sentence, offered)
  const [call] = calls
  const [me] = runsOf('tellMe', sentence, offered)
  if (calls.length !== 1 || call === undefined || me === undefined) return undefined
  const ends = me.at + me.length
  // 'Avisame cuando': the condition is not within the phrase for telling.
  const condition = runsOf('when', sentence, offered).find(
    ({ at }) => at < call && (at >= ends || at < me.at),
  )
  if (condition === undefined) return undefined
  const { raw } = sentence.tokens[call]!
  const behind = { tokens: sentence.tokens.slice(condition.at + condition.length) }
  if (has('past', behind, offered)) return askFor('heard', raw, offered)
  const isDoubtful = has('not', behind, offered) || has('message', behind, offered)
  return isDoubtful ? offer(raw, ['tell', 'mail'], offered) : askFor('tell', raw, offered)
}
