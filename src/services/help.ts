import { messageCharactersMax } from '../aprs/messageText.js'
import type { Wording } from '../words/air/wording.js'
import { understand } from './asking/understand.js'
import { standardVocabulary, type Vocabulary } from './asking/vocabulary.js'
import { readinessOf, readyAmong } from './readiness.js'
import type { Service } from './service.js'
import { splitAnswer } from './splitAnswer.js'
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
  const keywords = services.map(({ keyword }) => keyword).filter((one) => one !== 'help')
  const list = keywords.join(' ')
  // Sent as it is written, the example must give something; a shorter one may save a message.
  const [first = 'KEYWORD', ...others] = keywords.includes('repeaters')
    ? ['repeaters', ...keywords]
    : keywords
  const shortest = [first, ...others].reduce((a, b) => (b.length < a.length ? b : a))
  const texts = [first, shortest].map((example) => wording.say('helpList', { list, example }))
  const countOf = (text: string): number =>
    splitAnswer(text, { messagesMax: Number.POSITIVE_INFINITY }).length
  return texts.reduce((a, b) => (countOf(b) < countOf(a) ? b : a))
}
