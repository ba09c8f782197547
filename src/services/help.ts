import { messageCharactersMax } from '../aprs/messageText.js'
import type { Wording } from '../words/air/wording.js'
import { understand } from './asking/understand.js'
import { standardVocabulary, type Vocabulary } from './asking/vocabulary.js'
import { cannotAnswer, readyAmong } from './readiness.js'
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
    // 'Was kannst du alles': a count of nothing.
    if (meant.kind === 'offer' && meant.argument !== undefined) return list
    const ready = meant.kind === 'offer' ? readyAmong(meant.services, context) : []
    if (ready.length > 1)
      return wording.say('helpWhich', { list: ready.map(({ keyword }) => keyword).join(', ') })
    const service =
      meant.kind === 'offer'
        ? (ready[0] ?? meant.services[0])
        : meant.kind === 'service'
          ? meant.service
          : undefined
    if (service === undefined || service.keyword === 'help') return list
    const why = cannotAnswer(service, context)
    if (why !== undefined) return why
    const usage = usageOf(service, wording)
    const summary = summaryOf(service, wording)
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
