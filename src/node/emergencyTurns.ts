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
  noteAnswered(station: string): void
  /** by a former run, so long ago, at once or in its turn */
  noteFormer(station: string, agoMs: number, wasAtOnce: boolean): void
  forget(station: string): void
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
  /** by station, when it was answered; monotonic */
  const answeredMs = new Map<string, number>()
  const nowMs = (): number => clock.monotonicMs()

  const noteAnswered = (station: string, atMs = nowMs()): void => {
    setNewest(answeredMs, station, atMs, stationsMax)
  }

  const turnOf = (station: string): EmergencyTurn => {
    const atMs = answeredMs.get(station)
    if (atMs !== undefined && nowMs() - atMs < emergencyWindowMs) return 'not again'
    if (atOnce.count('', nowMs()) >= atOnceMax) return 'in turn'
    atOnce.note('', nowMs())
    return 'at once'
  }

  return {
    turnOf,
    noteAnswered: (station) => noteAnswered(station),
    noteFormer(station, agoMs, wasAtOnce) {
      noteAnswered(station, nowMs() - agoMs)
      if (wasAtOnce) atOnce.note('', nowMs() - agoMs)
    },
    forget: (station) => void answeredMs.delete(station),
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
