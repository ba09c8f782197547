import type { Clock } from '../runtime/clock.js'
import type { QuestionRecord } from '../store/questions.js'
import type { ResolvedOptions } from './options.js'
import { rateLimit } from './rateLimit.js'

/** A question that gets no answer: 'silence' after its acknowledgement, one polite notice, or a rejection. */
export interface Refusal {
  readonly reason: string
  readonly how: 'silence' | 'notice' | 'reject'
}

/** Who may ask how much. */
export interface AskLimits {
  /** Counts a question. @returns why it is refused; undefined when it is not */
  refusalOf(from: string, text: string): Refusal | undefined
  /** How a question that was heard again is responded to. */
  respondTo(question: QuestionRecord): 'acknowledge' | 'reject'
  /** Counts a text that no service understands. @returns why its sender is taken for a machine, if it is */
  machineOf(from: string): string | undefined
  readonly politeText: string
}

/** Marks an automatic reply (common practice, no source). */
const automaticReply = /^AA:/

export function askLimits(clock: Clock, { limits }: ResolvedOptions): AskLimits {
  const byStation = rateLimit(limits.windowMs)
  const overall = rateLimit(limits.windowMs)
  const notUnderstood = rateLimit(limits.windowMs)
  const polite = rateLimit(limits.windowMs)
  const minutes = Math.round(limits.windowMs / 60_000)

  /** A station or everybody has asked too much; the first time in a window, the station is told. */
  const overLimit = (from: string): Refusal | undefined => {
    const nowMs = clock.monotonicMs()
    const own = byStation.note(from, nowMs)
    const all = overall.note('', nowMs)
    if (own <= limits.perStation && all <= limits.overall) return undefined
    const reason =
      own > limits.perStation
        ? `rate limit: more than ${limits.perStation} questions in ${minutes} minutes`
        : `overall rate limit: more than ${limits.overall} questions in ${minutes} minutes`
    return { reason, how: polite.note(from, nowMs) === 1 ? 'notice' : 'reject' }
  }

  return {
    refusalOf: (from, text) =>
      automaticReply.test(text)
        ? { reason: 'an automatic reply is not answered', how: 'silence' }
        : overLimit(from),
    respondTo(question) {
      const wasOverLimit = /rate limit/.test(question.reason ?? '')
      const wasTold = polite.count(question.from, clock.monotonicMs()) === 1
      return wasOverLimit && !wasTold ? 'reject' : 'acknowledge'
    },
    machineOf(from) {
      const count = notUnderstood.note(from, clock.monotonicMs())
      if (count <= limits.notUnderstood) return undefined
      return `${count} texts that no service understands: taken for a machine`
    },
    politeText: `Too many questions just now. Please try again in ${minutes} minutes.`,
  }
}
