import { messageCharactersMax } from '../aprs/messageText.js'
import { understand } from './asking/understand.js'
import { standardVocabulary, type Vocabulary } from './asking/vocabulary.js'
import { readinessOf, readyAmong } from './readiness.js'
import type { Service } from './service.js'

/** `help`: every keyword that can answer; `help KEYWORD`: how it is asked and what it does. */
export const helpService = (vocabulary: Vocabulary = standardVocabulary): Service => ({
  keyword: 'help',
  summary: 'The list of services, or how one of them is asked',
  usage: 'help [KEYWORD]',
  answer({ rest }, context) {
    const { services } = context
    const list = listOf(readyAmong(services, context))
    if (rest === '') return list
    const meant = understand(rest, { services, vocabulary })
    if (meant.kind === 'offer')
      return `help which: ${meant.services.map(({ keyword }) => keyword).join(', ')}?`
    if (meant.kind !== 'service' || meant.service.keyword === 'help') return list
    const { usage, summary, keyword } = meant.service
    const readiness = readinessOf(meant.service, context)
    if (readiness.state !== 'ready')
      return `${keyword} cannot answer just now: ${readiness.reason}.`
    const line = `${usage}: ${summary}`
    return line.length <= messageCharactersMax ? line : [usage, summary]
  },
})

function listOf(services: readonly Service[]): string {
  const others = services.filter(({ keyword }) => keyword !== 'help')
  // Sent as it is written, the example must give something.
  const example = (others.find(({ keyword }) => keyword === 'repeaters') ?? others[0])?.keyword
  return `Send: ${others.map(({ keyword }) => keyword).join(' ')}. More: help ${example ?? 'KEYWORD'}`
}
