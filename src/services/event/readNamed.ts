import { keptText } from '../airText.js'
import { parseCall } from '../callWords.js'
import type { Answer, LeaveResult, Question, Service, ServiceContext } from '../service.js'
import { wordingOf } from '../wordingOf.js'
import type { NamesView, ReadQuestion } from './namesView.js'

/** These are asked with a station's call. What a club's own service takes is its own affair. */
const takeStations: ReadonlySet<string> = new Set([
  ...['heard', 'where', 'conditions', 'tell', 'back'],
])

const keepNames: ReadonlySet<string> = new Set(['tell', 'back'])

/** A text to more than so many is kept for none: a list has them all. */
const receiversMax = 200

/** The one place where a tactical name in a question becomes the station that holds it. */
export function readNamed(
  service: Service,
  question: Question,
  context: ServiceContext,
  names: NamesView,
): ReadQuestion {
  if (service.keyword === 'leave') return leftForNames(question, context, names)
  if (!takeStations.has(service.keyword)) return { question }
  const named = question.words.flatMap((word) => names.nameOf(word) ?? [])
  const free = named.find((name) => names.holder(name) === undefined)
  const { say } = wordingOf(context)
  if (free !== undefined) return { answer: say('eventNobodyHolds', { name: free }) }
  // A watch is kept by the name: whoever holds it when the time comes is meant.
  if (named.length === 0 || keepNames.has(service.keyword)) return { question }
  const callOf = (word: string): string => names.holder(names.nameOf(word) ?? '') ?? word
  const rest = question.rest.replace(/\S+/g, callOf)
  return { question: { ...question, words: question.words.map(callOf), rest } }
}

/** `leave CHECK3 TEXT`, `leave CHECK1,CHECK2,Q1ABC TEXT`, `leave MARSHALS TEXT`. */
function leftForNames(question: Question, context: ServiceContext, names: NamesView): ReadQuestion {
  const [first = ''] = question.words
  const isSeveral = first.includes(',') || names.listed(first) !== undefined
  const only = names.nameOf(first)
  // 'CHECK9' would do for a call sign, and is a name that there is not.
  const isMistaken = names.nameOf(first) === undefined && /^[a-z]{3,}\d+$/i.test(first)
  if (!isSeveral && only === undefined && !isMistaken) return { question }
  const { say } = wordingOf(context)
  if (!isSeveral && only === undefined)
    return {
      answer: say('eventNotKept', { reason: say('eventNoSuchName', { word: first.slice(0, 12) }) }),
    }
  const text = keptText(question.rest.slice(first.length))
  if (text === '') return { answer: say('eventWhatText', { to: first.slice(0, 12) }) }
  const carried = `${names.mark}${text}`
  if (!isSeveral) {
    const result = context.mailbox.leave(question, only!, carried)
    return { answer: oneAnswer(only!, result, names, context) }
  }
  const receivers = new Set<string>()
  for (const word of first.split(',').filter((one) => one !== '')) {
    const listed = names.listed(word)
    const one = names.nameOf(word) ?? parseCall(word)
    if (listed === undefined && one === undefined)
      return {
        answer: say('eventNotKept', {
          reason: say('eventNoSuchName', { word: word.slice(0, 12) }),
        }),
      }
    for (const receiver of listed ?? [one!]) receivers.add(receiver)
  }
  if (receivers.size > receiversMax)
    return { answer: say('eventNotKept', { reason: say('eventTooMany', { most: receiversMax }) }) }
  return { answer: leaveForAll([...receivers], carried, question, context, names) }
}

/** What a part of a question that leaves one text to several is called: unlike the id of any question. */
const partOf = (question: Question, receiver: string): Question => ({
  ...question,
  id: `${question.id}>${receiver}`,
})

function leaveForAll(
  receivers: readonly string[],
  carried: string,
  question: Question,
  context: ServiceContext,
  names: NamesView,
): Answer {
  const { say } = wordingOf(context)
  let kept = 0
  const refused: string[] = []
  for (const receiver of receivers) {
    const result = context.mailbox.leave(partOf(question, receiver), receiver, carried)
    if (result.ok) kept++
    else if (result.reason === 'too-long' || result.reason === 'out-of-order')
      return say('eventNotKept', { reason: refusalText(result, names, context) })
    else refused.push(receiver)
  }
  const told = say('eventKeptForSeveral', { count: kept })
  return refused.length === 0 ? told : [told, say('eventNotFor', { names: refused.join(' ') })]
}

function oneAnswer(
  name: string,
  result: LeaveResult,
  names: NamesView,
  context: ServiceContext,
): string {
  const { say } = wordingOf(context)
  if (!result.ok) return say('eventNotKept', { reason: refusalText(result, names, context) })
  const call = names.holder(name)
  return call === undefined
    ? say('eventKeptUntilHeld', { name })
    : say('eventKeptFor', { who: `${name} (${call})` })
}

function refusalText(
  refusal: Exclude<LeaveResult, { readonly ok: true }>,
  { mark }: NamesView,
  context: ServiceContext,
): string {
  const { say } = wordingOf(context)
  if (refusal.reason === 'out-of-order') return say('eventOutOfOrder')
  if (refusal.reason !== 'too-long') return say('eventFull')
  const charactersMax = Math.max(0, refusal.charactersMax - mark.length)
  return say('eventTooLong', { count: refusal.excessCharacters, most: charactersMax })
}
