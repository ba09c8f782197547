import type { Clock } from '../runtime/clock.js'
import type { Understanding } from '../services/asking/understanding.js'
import type { QuestionRecord } from '../store/questions.js'
import type { Wording } from '../words/air/wording.js'
import { type NodeOptions, nodeDestination } from './options.js'
import { rateLimit } from './rateLimit.js'

/** A question that gets no answer: 'silence' after its acknowledgement, or a rejection, once with a word to people. */
export interface Refusal {
  readonly reason: string
  readonly how: 'silence' | 'reject'
}

/** Who may ask how much, whatever the airtime. */
export interface AskLimits {
  /** @returns why it is refused; undefined when it is not */
  refusalOf(from: string): Refusal | undefined
  /**
   * Counts what names no service, or names one by the way only.
   * @returns a refusal where its sender is taken for a machine
   */
  refusalOfMeaning(from: string, meant: Understanding): Refusal | undefined
  /** questions of this station lately */
  countOf(from: string): number
  /** Counts a question, answered or refused. */
  noteAsked(from: string): void
  /** A station that is refused is told why once in a window. @returns true the first time */
  noteTold(from: string): boolean
  /** How a question that was heard again is responded to. */
  respondTo(question: QuestionRecord): 'acknowledge' | 'reject'
  readonly politeWords: (wording: Wording) => string
}

/** Marks an automatic reply (common practice, no source). */
export const automaticReply = /^AA:/
const automaticReason = 'an automatic reply is not answered'
const nodeReason = 'what another node says is not answered'
const chatReason = 'greeted often enough: acknowledged only'
export const answeredLately = 'its call for help was answered within ten minutes'
const silentReasons: ReadonlySet<string> = new Set([
  automaticReason,
  nodeReason,
  chatReason,
  answeredLately,
])

/** Why a text is a machine's by its own marks; undefined when it is not. @param destination as heard */
export function machineReason(text: string, destination: string): string | undefined {
  if (automaticReply.test(text)) return automaticReason
  return destination === nodeDestination ? nodeReason : undefined
}

const hourMs = 3_600_000
/** Greetings, and texts that no service understands, of one station in an hour: beyond it, it is taken for a machine. */
const notUnderstoodMax = 3
/** Texts of one station in an hour that name a service by the way only, as the words of a machine may, too. */
const guessedMax = 12

export function askLimits(clock: Clock, { limits }: NodeOptions): AskLimits {
  const asked = rateLimit(limits.windowMs)
  const misunderstood = rateLimit(hourMs)
  const guessed = rateLimit(hourMs)
  const told = rateLimit(limits.windowMs)
  const minutes = Math.round(limits.windowMs / 60_000)
  const nowMs = (): number => clock.monotonicMs()

  return {
    refusalOf(from) {
      if (asked.count(from, nowMs()) < limits.perStation) return undefined
      const reason = `rate limit: more than ${limits.perStation} questions in ${minutes} minutes`
      return { reason, how: 'reject' }
    },
    refusalOfMeaning(from, meant) {
      if (meant.kind === 'service' && meant.manner === 'asked') return undefined
      const isGuessed = meant.kind === 'service'
      const count = (isGuessed ? guessed : misunderstood).note(from, nowMs())
      if (count <= (isGuessed ? guessedMax : notUnderstoodMax)) return undefined
      if (meant.kind === 'greeting') return { reason: chatReason, how: 'silence' }
      const what = isGuessed ? 'that name a service by the way' : 'that no service understands'
      return { reason: `${count} texts ${what}: taken for a machine`, how: 'reject' }
    },
    countOf: (from) => asked.count(from, nowMs()),
    noteAsked(from) {
      asked.note(from, nowMs())
    },
    noteTold: (from) => told.note(from, nowMs()) === 1,
    respondTo: ({ state, reason }) =>
      state === 'refused' && !silentReasons.has(reason ?? '') ? 'reject' : 'acknowledge',
    politeWords: ({ say }) => say('tooMany', { minutes }),
  }
}
