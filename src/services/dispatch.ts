import { errorText } from '../runtime/errorText.js'
import { matchKeyword, parseQuestion } from './matchKeyword.js'
import type { Question, Service, ServiceContext } from './service.js'
import { messagesMaxDefault, splitAnswer } from './splitAnswer.js'

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

/** What is to be sent back, and what the log should know about it. */
export interface Dispatched {
  /** each fits one message */
  readonly messages: readonly string[]
  /** the service that answered; undefined when none was meant */
  readonly keyword: string | undefined
  /** what went wrong inside the service; the asker got a polite word */
  readonly fault?: string
}

const wantedOf = (keyword: string): string => (keyword === '' ? 'help' : keyword)

const offeredTo = (from: string, services: readonly Service[]): readonly Service[] =>
  services.filter((service) => service.isFor?.(from) !== false)

/** False where no service is meant, or more than one might be. */
export const isUnderstood = (
  { from, text }: Pick<Asked, 'from' | 'text'>,
  services: readonly Service[],
): boolean => matchKeyword(wantedOf(parseQuestion(text).keyword), offeredTo(from, services)).ok

/** Finds the service that a text asks for, asks it, and splits its answer. Never throws: a service's fault is a value. */
export async function dispatch(
  sent: Asked,
  services: readonly Service[],
  context: ServiceContext,
): Promise<Dispatched> {
  const { keyword, words, rest } = parseQuestion(sent.text)
  const offered = offeredTo(sent.from, services)
  const found = matchKeyword(wantedOf(keyword), offered)
  if (!found.ok) {
    return { messages: splitAnswer(notUnderstood(keyword, found.candidates)), keyword: undefined }
  }
  const service = found.match
  const question: Question = { ...sent, words, rest }
  try {
    const answer = await service.answer(question, { ...context, services: offered })
    const asked = service.messagesMax?.(question) ?? messagesMaxDefault
    const messages = splitAnswer(answer, { messagesMax: Math.min(asked, messagesMaxEver) })
    if (messages.length > 0) return { messages, keyword: service.keyword }
    return { ...failed(service), fault: 'the answer was empty' }
  } catch (error) {
    return { ...failed(service), fault: errorText(error) }
  }
}

function failed(service: Service): { messages: readonly string[]; keyword: string } {
  return {
    messages: splitAnswer(`Sorry, ${service.keyword} does not work here just now.`),
    keyword: service.keyword,
  }
}

function notUnderstood(keyword: string, candidates: readonly Service[]): string {
  if (candidates.length > 1) {
    const names = candidates.map((service) => service.keyword)
    return `${keyword}? Send ${names.slice(0, -1).join(', ')} or ${names.at(-1)}.`
  }
  const shown = keyword.length > 16 ? `${keyword.slice(0, 14)}..` : keyword
  return `No service "${shown}" here. Send help for the list.`
}
