import type { Offered, Understanding } from '../understanding.js'
import { callsIn, isByKeyword, offer, runsOf, type Sentence } from './sentence.js'

/** 'Is the pass open', 'Straße gesperrt?', 'il passo è aperto': a road or a path, of which a notice or a card may tell. */
export function wayState(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens, all, first } = sentence
  const [way] = runsOf('way', sentence, offered)
  if (way === undefined || runsOf('state', sentence, offered).length === 0) return undefined
  if (callsIn(sentence, offered).length > 0) return undefined
  if (isByKeyword(sentence) && first?.service.keyword !== 'pass') return undefined
  const isOther = all.some(
    ({ strong, service }) => strong && !['pass', 'find', 'where'].includes(service.keyword),
  )
  const word = tokens.slice(way.at, way.at + way.length).map(({ raw }) => raw)
  return isOther ? undefined : offer(word.join(' '), ['board', 'find'], offered)
}
