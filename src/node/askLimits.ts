import type { Clock } from '../runtime/clock.js'
import type { QuestionRecord } from '../store/questions.js'
import type { NodeOptions } from './options.js'
import { rateLimit } from './rateLimit.js'

/** A question that gets no answer: 'silence' after its acknowledgement, or a rejection, once with a word to people. */
export interface Refusal {
  readonly reason: string
  readonly how: 'silence' | 'reject'
}

/** Who may ask how much, whatever the airtime. */
export interface AskLimits {
  /** @returns why it is refused; undefined when it is not */
  refusalOf(from: string, text: string): Refusal | undefined
  /** Counts a text that no service understands. @returns a refusal where its sender is taken for a machine */
  notUnderstood(from: string): Refusal | undefined
  /** questions of this station lately */
  countOf(from: string): number
  /** Counts a question, answered or refused. */
  noteAsked(from: string): void
  /** A station that is refused is told why once in a window. @returns true the first time */
  noteTold(from: string): boolean
  /** How a question that was heard again is responded to. */
  respondTo(question: QuestionRecord): 'acknowledge' | 'reject'
  readonly politeText: string
}

/** Marks an automatic reply (common practice, no source). */
export const automaticReply = /^AA:/
const automaticReason = 'an automatic reply is not answered'

/** Texts of one station in the window that no service understands: beyond it, it is taken for a machine. */
const notUnderstoodMax = 3

export function askLimits(clock: Clock, { limits }: NodeOptions): AskLimits {
  const asked = rateLimit(limits.windowMs)
  const misunderstood = rateLimit(limits.windowMs)
  const told = rateLimit(limits.windowMs)
  const minutes = Math.round(limits.windowMs / 60_000)
  const nowMs = (): number => clock.monotonicMs()

  return {
    refusalOf(from, text) {
      if (automaticReply.test(text)) return { reason: automaticReason, how: 'silence' }
      if (asked.count(from, nowMs()) < limits.perStation) return undefined
      const reason = `rate limit: more than ${limits.perStation} questions in ${minutes} minutes`
      return { reason, how: 'reject' }
    },
    notUnderstood(from) {
      const count = misunderstood.note(from, nowMs())
      if (count <= notUnderstoodMax) return undefined
      const reason = `${count} texts that no service understands: taken for a machine`
      return { reason, how: 'reject' }
    },
    countOf: (from) => asked.count(from, nowMs()),
    noteAsked(from) {
      asked.note(from, nowMs())
    },
    noteTold: (from) => told.note(from, nowMs()) === 1,
    respondTo: ({ state, reason }) =>
      state === 'refused' && reason !== automaticReason ? 'reject' : 'acknowledge',
    politeText: `Too many questions just now. Please try again in ${minutes} minutes.`,
  }
}
