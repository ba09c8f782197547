import { tokensOf } from './asking/tokens.js'
import { standardVocabulary } from './asking/vocabulary.js'
import type { CardIndex } from './cards/cardIndex.js'
import type { Service } from './service.js'

export interface FindOptions {
  /** the cards as they are now; undefined when none are loaded */
  cards(): CardIndex | undefined
  /** small words of people's questions, which are no part of a topic */
  readonly ignored?: ReadonlySet<string>
}

/** As the last word of a question: the whole card, however long. */
const wantsMore = /\smore$/i

/** What words of need are taken to mean; the asker's own words may name a card where none is of this name. */
const emergencyTopic = 'emergency'

/** `find TOPIC`: the card that fits best. */
export function findService(options: FindOptions): Service {
  return {
    keyword: 'find',
    summary: 'Looks a topic up in the cards kept here; more: all of a card',
    usage: 'find TOPIC [more]',
    takes: 'text',
    ready: () =>
      (options.cards()?.cards.length ?? 0) > 0
        ? { state: 'ready' }
        : { state: 'empty', reason: 'no topics are stored' },
    recognises: (words) => options.cards()?.recognises(words.join(' ')) === true,
    messagesMax: (question) => (wantsMore.test(question.rest) ? 10 : 3),
    answer(question) {
      const index = options.cards()
      const ignored = options.ignored ?? standardVocabulary.ignored
      const topic = topicIn(question.rest.replace(wantsMore, '').trim(), ignored)
      const byVoice = topic === emergencyTopic ? ' Call for help by voice.' : ''
      if (index === undefined || index.cards.length === 0)
        return `The operator has stored no topics.${byVoice}`
      if (topic === '') return `Find what? Topics: ${titles(index)}`
      const named = index.search(topic)
      const said = topicIn(question.text, ignored)
      const [best, ...others] =
        named.length === 0 && index.recognises(said) ? index.search(said) : named
      if (best === undefined)
        return `Nothing on "${topic.slice(0, 20)}".${byVoice} Topics: ${titles(index)}`
      const card = `${best.title}: ${best.text}`
      const [other] = others
      // One more title only where it costs no further message.
      const also = other === undefined ? '' : ` (also: ${other.title})`
      return card.length + also.length <= 67 ? `${card}${also}` : card
    },
  }
}

/** 'When is the net' asks for 'net'; what is nothing but small words is left as it is. */
function topicIn(text: string, ignored: ReadonlySet<string>): string {
  const words = tokensOf(text).filter(({ folded }) => !ignored.has(folded))
  return words.length === 0 ? text : words.map(({ raw }) => raw).join(' ')
}

/** As many as fit about two messages. */
function titles(index: CardIndex): string {
  let text = ''
  for (const [at, { title }] of index.cards.entries()) {
    const longer = text === '' ? title : `${text}, ${title}`
    if (longer.length > 100) return `${text}, and ${index.cards.length - at} more`
    text = longer
  }
  return text
}
