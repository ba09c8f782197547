import { messageCharactersMax } from '../aprs/messageText.js'
import { inEnglish } from '../words/air/all.js'
import type { Wording } from '../words/air/wording.js'
import { tokensOf, withoutArticles } from './asking/tokens.js'
import { standardVocabulary } from './asking/vocabulary.js'
import type { CardIndex } from './cards/cardIndex.js'
import { composed } from './compose.js'
import type { Service } from './service.js'
import { wordingOf } from './wordingOf.js'

export interface FindOptions {
  /** the cards as they are now; undefined when none are loaded */
  cards(): CardIndex | undefined
  /** small words of people's questions, which are no part of a topic */
  readonly ignored?: ReadonlySet<string>
  /** words for what people look for, each with what it is: a card is found by any word for the same */
  readonly topics?: ReadonlyMap<string, string>
}

/** As the last word of a question: the whole card, however long. */
const wantsMore = /\smore$/i

/** What words of need are taken to mean; the asker's own words may name a card where none is of this name. */
const emergencyTopic = 'emergency'

/** `find TOPIC`: the card that fits best. */
export function findService(options: FindOptions): Service {
  const topics = options.topics ?? standardVocabulary.topics
  return {
    keyword: 'find',
    summary: 'Looks a topic up in the cards kept here; more: all of a card',
    usage: 'find TOPIC [more]',
    takes: 'text',
    ready: () =>
      (options.cards()?.cards.length ?? 0) > 0
        ? { state: 'ready' }
        : { state: 'empty', reason: inEnglish.say('noTopicsReason'), text: 'noTopicsReason' },
    recognises(words) {
      const index = options.cards()
      if (index === undefined) return false
      const topic = words.join(' ')
      return index.recognises(topic) || knownFor(topic, index, topics) !== undefined
    },
    messagesMax: (question) => (wantsMore.test(question.rest) ? 10 : 3),
    answer(question, context) {
      const wording = wordingOf(context)
      const { say } = wording
      const index = options.cards()
      const ignored = options.ignored ?? standardVocabulary.ignored
      const topic = topicIn(question.rest.replace(wantsMore, '').trim(), ignored)
      const byVoice = topic === emergencyTopic ? ` ${say('byVoice')}` : ''
      if (index === undefined || index.cards.length === 0) return `${say('noTopics')}${byVoice}`
      if (topic === '') {
        const known = titles(index, wording)
        const whole = say('findWhat', { titles: known })
        const list = say('topics', { titles: known })
        // The question is not worth a message.
        return whole.length > messageCharactersMax && list.length <= messageCharactersMax
          ? list
          : whole
      }
      const sent = question.rest.replace(wantsMore, '')
      const known = knownFor(sent, index, topics) ?? knownFor(topic, index, topics)
      const asSent = index.search(topic)
      // 'Runde' is in no card, and only begins like the 'run' of one.
      const isThere = asSent.length > 0 && (known === undefined || index.recognises(topic))
      const named = isThere || known === undefined ? asSent : index.search(known)
      const said = topicIn(question.text, ignored)
      const [best, ...others] =
        named.length === 0 && index.recognises(said) ? index.search(said) : named
      if (best === undefined)
        return composed([
          `${say('nothingOn', { word: topic.slice(0, 20) })}${byVoice}`,
          say('topics', { titles: titles(index, wording) }),
        ])
      const card = `${best.title}: ${best.text}`
      const [other] = others
      // One more title only where it costs no further message.
      const also = other === undefined ? '' : ` ${say('also', { title: other.title })}`
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
function titles(index: CardIndex, wording: Wording): string {
  let text = ''
  for (const [at, { title }] of index.cards.entries()) {
    const longer = text === '' ? title : `${text}, ${title}`
    if (longer.length > 100)
      return wording.say('titlesAndMore', { titles: text, count: index.cards.length - at })
    text = longer
  }
  return text
}

/** 'Trinkwasser' where a card is called 'Water': the words for the same by which cards are known here; undefined for none. */
function knownFor(
  topic: string,
  index: CardIndex,
  topics: ReadonlyMap<string, string>,
): string | undefined {
  const words = tokensOf(topic).map(({ folded }) => folded)
  const phrase = withoutArticles(words.join(' '))
  const meant = topics.get(phrase)
  if (meant === undefined) return undefined
  const same = [...topics].filter(([, one]) => one === meant).map(([words]) => words)
  const known = same.filter((words) =>
    words.split(' ').every((word) => word.length < 3 || index.recognises(word)),
  )
  return known.length === 0 ? undefined : known.join(' ')
}
