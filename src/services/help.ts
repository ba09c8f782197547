import { messageCharactersMax } from '../aprs/messageText.js'
import type { Wording } from '../words/air/wording.js'
import { understand } from './asking/understand.js'
import { standardVocabulary, type Vocabulary } from './asking/vocabulary.js'
import { readinessOf, readyAmong } from './readiness.js'
import type { Service } from './service.js'
import { summaryOf, usageOf, wordingOf } from './wordingOf.js'

/** `help`: every keyword that can answer; `help KEYWORD`: how it is asked and what it does. */
export const helpService = (vocabulary: Vocabulary = standardVocabulary): Service => ({
  keyword: 'help',
  summary: 'The list of services, or how one of them is asked',
  usage: 'help [KEYWORD]',
  answer({ rest }, context) {
    const { services } = context
    const wording = wordingOf(context)
    const list = listOf(readyAmong(services, context), wording)
    if (rest === '') return list
    const meant = understand(rest, { services, vocabulary })
    if (meant.kind === 'offer')
      return wording.say('helpWhich', {
        list: meant.services.map(({ keyword }) => keyword).join(', '),
      })
    if (meant.kind !== 'service' || meant.service.keyword === 'help') return list
    const readiness = readinessOf(meant.service, context)
    if (readiness.state !== 'ready') {
      const { text, reason } = readiness
      const { keyword } = meant.service
      return wording.say('cannotAnswer', {
        ...{ keyword, reason: text === undefined ? reason : wording.say(text) },
      })
    }
    const usage = usageOf(meant.service, wording)
    const summary = summaryOf(meant.service, wording)
    const line = `${usage}: ${summary}`
    return line.length <= messageCharactersMax ? line : [usage, summary]
  },
})

function listOf(services: readonly Service[], wording: Wording): string {
  const others = services.filter(({ keyword }) => keyword !== 'help')
  // Sent as it is written, the example must give something.
  const example = (others.find(({ keyword }) => keyword === 'repeaters') ?? others[0])?.keyword
  return wording.say('helpList', {
    list: others.map(({ keyword }) => keyword).join(' '),
    example: example ?? 'KEYWORD',
  })
}
