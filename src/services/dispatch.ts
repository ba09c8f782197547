import { fitsMessage } from '../aprs/messageText.js'
import { errorText } from '../runtime/errorText.js'
import type { Wording } from '../words/air/wording.js'
import { airText, keptText } from './airText.js'
import { languageOf } from './asking/languageOf.js'
import { understand } from './asking/understand.js'
import type { Other, Understanding } from './asking/understanding.js'
import { standardVocabulary, type Vocabulary } from './asking/vocabulary.js'
import { elsewhere } from './elsewhere.js'
import { greetingText } from './greeting.js'
import { cannotAnswer, readinessOf, readyAmong } from './readiness.js'
import type { Answer, Question, Service, ServiceContext } from './service.js'
import { messagesMaxDefault, splitAnswer } from './splitAnswer.js'
import { summaryOf, usageOf, wordingOf } from './wordingOf.js'

/** However much somebody asks for. */
const messagesMaxEver = 10

/** Somebody's text before anybody knows what it asks. */
export interface Asked {
  /** unique; the same for every copy and retry of one question */
  readonly id: string
  /** call sign with SSID, upper case */
  readonly from: string
  readonly text: string
}

/** What can be asked at the name to which a text was sent. */
export interface Offer {
  readonly services: readonly Service[]
  /** every text is a question to the only service */
  readonly only?: boolean
  readonly vocabulary?: Vocabulary
  /** tactical names are no keywords */
  readonly isName?: ((word: string) => boolean) | undefined
}

/** What is to be sent back, and what the log should know about it. */
export interface Dispatched {
  /** each fits one message */
  readonly messages: readonly string[]
  /** the service that answered; undefined when none was meant */
  readonly keyword: string | undefined
  /** what went wrong inside the service; the asker got a polite word */
  readonly fault?: string
}

const offeredTo = (from: string, services: readonly Service[]): readonly Service[] =>
  services.filter((service) => service.isFor?.(from) !== false)

/** What a text means, among the services that its sender may ask. */
export const understandAsked = (
  { from, text }: Pick<Asked, 'from' | 'text'>,
  { services, only = false, vocabulary = standardVocabulary, isName }: Offer,
): Understanding =>
  understand(text, { services: offeredTo(from, services), only, vocabulary, isName })

/** An answer as its service gave it. */
interface Answered {
  readonly answer: Answer
  readonly keyword: string | undefined
  readonly messagesMax?: number
  /** another service that the text named, too */
  readonly other?: Other | undefined
  readonly language?: string | undefined
  readonly fault?: string
}

/** Finds the service that a text asks for, asks it, and splits its answer. Never throws: a service's fault is a value. */
export async function dispatch(
  sent: Asked,
  offer: Offer,
  context: ServiceContext,
): Promise<Dispatched> {
  const { answer, messagesMax, other, language, ...rest } = await answerTo(sent, offer, context)
  const messages = splitAnswer(answer, messagesMax === undefined ? {} : { messagesMax })
  return { messages: withOther(messages, other, { ...context, language }), ...rest }
}

/** What is to be shown where there is room: an answer in whole lines. */
export interface LongAnswer extends Omit<Dispatched, 'messages'> {
  readonly lines: readonly string[]
}

/** As dispatch, for who reads lines of any length. */
export async function dispatchLong(
  sent: Asked,
  offer: Offer,
  context: ServiceContext,
): Promise<LongAnswer> {
  const { answer, keyword, fault } = await answerTo(sent, offer, context)
  const lines = linesOf(answer)
  return { lines, keyword, ...(fault !== undefined && { fault }) }
}

const linesOf = (answer: Answer): string[] =>
  (typeof answer === 'string' ? [answer] : answer)
    .map((entry) => (typeof entry === 'string' ? airText(entry) : keptText(entry.asSent)))
    .filter((line) => line !== '')

async function answerTo(sent: Asked, offer: Offer, given: ServiceContext): Promise<Answered> {
  const offered = offeredTo(sent.from, offer.services)
  const { names } = given
  const isName = names && ((word: string) => names.nameOf(word) !== undefined)
  const meant = understandAsked(sent, { ...offer, isName })
  const context = inLanguageOf(sent.text, meant, offer, given)
  if (meant.kind !== 'service') {
    const keyword = meant.kind === 'greeting' ? 'greeting' : undefined
    return { answer: answerWithoutService(meant, sent.from, offered, context), keyword }
  }
  const { service, words, rest } = meant
  const question: Question = { ...sent, words, rest }
  try {
    const read = names?.read(service, question, context) ?? { question }
    if ('answer' in read) return { answer: read.answer, keyword: service.keyword }
    const given = await service.answer(read.question, { ...context, services: offered })
    const isReady = readinessOf(service, context).state === 'ready'
    const answer = isReady ? given : withElsewhere(given, service.keyword, context)
    const asked = service.messagesMax?.(question) ?? messagesMaxDefault
    const messagesMax = Math.min(asked, messagesMaxEver)
    if (linesOf(answer).length > 0)
      return {
        answer,
        keyword: service.keyword,
        messagesMax,
        other: meant.other,
        language: context.language,
      }
    return { ...failed(service, context), fault: 'the answer was empty' }
  } catch (error) {
    return { ...failed(service, context), fault: errorText(error) }
  }
}

function withElsewhere(answer: Answer, keyword: string, context: ServiceContext): Answer {
  const other = elsewhere(keyword, context)
  if (other === undefined) return answer
  return typeof answer === 'string' ? `${answer} ${other}` : [...answer, other]
}

/** One question is answered at a time; how to ask the other is said where it costs no message. */
function withOther(
  messages: readonly string[],
  other: Other | undefined,
  context: ServiceContext,
): readonly string[] {
  if (other === undefined || readinessOf(other.service, context).state !== 'ready') return messages
  const keyword = [other.service.keyword, other.argument].filter(Boolean).join(' ')
  const last = messages.at(-1)!
  const told = `${last}${/[.?!]$/.test(last) ? '' : '.'} ${wordingOf(context).say('next', { keyword })}`
  if (fitsMessage(told)) return [...messages.slice(0, -1), told]
  // A place or a topic that was named stands in no answer so far.
  return other.argument === undefined
    ? messages
    : [...messages, wordingOf(context).say('next', { keyword })]
}

const failed = ({ keyword }: Service, context: ServiceContext): Answered => ({
  answer: wordingOf(context).say('failed', { keyword }),
  keyword,
})

/** Who asks in a language is answered in it, where the node has the words. In which one somebody writes to others says nothing. */
function inLanguageOf(
  text: string,
  meant: Understanding,
  { vocabulary = standardVocabulary }: Offer,
  context: ServiceContext,
): ServiceContext {
  const isOwnText = meant.kind === 'service' && meant.service.takes === 'text'
  const asked =
    isOwnText && text.endsWith(meant.rest) ? text.slice(0, text.length - meant.rest.length) : text
  return { ...context, language: languageOf(asked, vocabulary) ?? context.language }
}

function answerWithoutService(
  meant: Exclude<Understanding, { kind: 'service' }>,
  from: string,
  services: readonly Service[],
  context: ServiceContext,
): Answer {
  const wording = wordingOf(context)
  const { say } = wording
  switch (meant.kind) {
    case 'greeting':
      return greetingText(meant.sort, from, context)
    case 'usage':
      return `${usageOf(meant.service, wording)}: ${summaryOf(meant.service, wording)}`
    case 'absent':
      return withElsewhere(say('absent', { keyword: meant.keyword }), meant.keyword, context)
    case 'offer': {
      const ready = readyAmong(meant.services, context)
      const why = ready.length === 0 && cannotAnswer(meant.services[0]!, context)
      if (why) return withElsewhere(why, meant.services[0]!.keyword, context)
      const what = offerText(ready, wording, meant.argument)
      if (meant.refused === 'booking') return say('noBooking', { what })
      return say('offer', { word: shortened(meant.word), what })
    }
    case 'nothing': {
      const word = shortened(meant.word)
      const examples = examplesOf(readyAmong(services, context)).join(', ')
      return examples === '' ? say('unknown', { word }) : say('unknownSend', { word, examples })
    }
  }
}

const shortened = (word: string): string => (word.length > 16 ? `${word.slice(0, 14)}..` : word)

function offerText(services: readonly Service[], wording: Wording, argument?: string): string {
  const [first, ...others] = services
  // One whose arguments cannot be guessed is shown with how it is asked.
  if (first !== undefined && others.length === 0)
    return argument === undefined ? usageOf(first, wording) : `${first.keyword} ${argument}`
  const names = services.map(({ keyword }) =>
    argument === undefined ? keyword : `${keyword} ${argument}`,
  )
  return `${names.slice(0, -1).join(', ')} ${wording.say('or')} ${names.at(-1)}`
}

/** What somebody who knows no keyword may send as it is written. */
const examples = ['help', 'repeaters', 'conditions', 'sun']

function examplesOf(services: readonly Service[]): readonly string[] {
  const known = examples.filter((one) => services.some(({ keyword }) => keyword === one))
  return known.length > 0 ? known : services.slice(0, 4).map(({ keyword }) => keyword)
}
