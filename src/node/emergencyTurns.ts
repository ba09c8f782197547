import type { Clock } from '../runtime/clock.js'
import { setNewest } from '../runtime/setNewest.js'
import { answeredLately } from './askLimits.js'
import { emergencyWindowMs, unasked } from './emergencyMarks.js'
import { rateLimit } from './rateLimit.js'

/**
 * How a message that calls for help is to be answered: 'at once' before all else, out of the airtime kept in reserve; 'in
 * turn' as any question, because too many call; 'not again' because this station was answered lately.
 */
export type EmergencyTurn = 'at once' | 'in turn' | 'not again'

/** Who was answered lately, and how many may be answered at once. */
export interface EmergencyTurns {
  /** of a message; counts what is answered at once */
  turnOf(station: string): EmergencyTurn
  /** Whether what is no message is answered at once; counts it. @returns why not */
  refusalOfUnasked(station: string): string | undefined
  /** @param questionId of the question whose answer that is; undefined for what was not kept, or is no message */
  noteAnswered(station: string, questionId?: number): void
  /** by a former run, so long ago, at once or in its turn */
  noteFormer(answer: FormerAnswer): void
  /** whether a station was answered lately, by the answer to something else than this question */
  wasAnsweredElse(station: string, questionId: number): boolean
  forget(station: string): void
}

export interface FormerAnswer {
  readonly station: string
  readonly questionId: number | undefined
  readonly agoMs: number
  readonly wasAtOnce: boolean
}

/**
 * So many stations are answered at once in ten minutes. An answer takes a second or so on the air, so that forged calls get no
 * more than the reserve of the usual limits: a tenth of 20 % of ten minutes.
 */
const atOnceMax = 10
const stationsMax = 5_000

export function emergencyTurns(clock: Clock): EmergencyTurns {
  const atOnce = rateLimit(emergencyWindowMs)
  const unaskedAnswers = rateLimit(unasked.windowMs)
  /** by station, when it was answered, monotonic */
  const answered = new Map<string, { readonly atMs: number; readonly questionId?: number }>()
  const nowMs = (): number => clock.monotonicMs()

  const noteAnswered = (station: string, questionId: number | undefined, atMs = nowMs()): void => {
    setNewest(
      answered,
      station,
      { atMs, ...(questionId !== undefined && { questionId }) },
      stationsMax,
    )
  }

  const lately = (station: string) => {
    const last = answered.get(station)
    return last !== undefined && nowMs() - last.atMs < emergencyWindowMs ? last : undefined
  }

  const turnOf = (station: string): EmergencyTurn => {
    if (lately(station) !== undefined) return 'not again'
    if (atOnce.count('', nowMs()) >= atOnceMax) return 'in turn'
    atOnce.note('', nowMs())
    return 'at once'
  }

  return {
    turnOf,
    noteAnswered: (station, questionId) => noteAnswered(station, questionId),
    noteFormer({ station, questionId, agoMs, wasAtOnce }) {
      noteAnswered(station, questionId, nowMs() - agoMs)
      if (wasAtOnce) atOnce.note('', nowMs() - agoMs)
    },
    wasAnsweredElse(station, questionId) {
      const last = lately(station)
      return last !== undefined && last.questionId !== questionId
    },
    forget: (station) => void answered.delete(station),
    refusalOfUnasked(station) {
      if (unaskedAnswers.count(station, nowMs()) >= unasked.max)
        return `its calls for help were answered ${unasked.max} times in six hours`
      const turn = turnOf(station)
      if (turn === 'not again') return answeredLately
      if (turn === 'in turn') return 'too many call for help: only messages are answered'
      unaskedAnswers.note(station, nowMs())
      return undefined
    },
  }
}
