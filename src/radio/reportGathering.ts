import type { Clock } from '../runtime/clock.js'
import type { RadioReport } from './radioWatch.js'

/** Reports that may wait for so long go together: audio comes again within that, as long as it comes at all. */
const gatherMs = 200
/** More than comes in that time, even with somebody who listens: what is beyond would only grow. */
const waitingMax = 100

/** Each message wakes the thread that it is for, which costs more than what is in it: rows, readings and audio go a few at a time. */
export function gatherReports(
  clock: Clock,
  post: (reports: readonly RadioReport[]) => void,
): (report: RadioReport) => void {
  let waiting: RadioReport[] = []
  let postedMs = Number.NEGATIVE_INFINITY
  let isDue = false

  const look = (): void => {
    isDue = false
    const nowMs = clock.monotonicMs()
    const mayWait = waiting.every(({ kind }) => patient.has(kind)) && waiting.length < waitingMax
    if (mayWait && nowMs - postedMs < gatherMs) return
    postedMs = nowMs
    const gathered = waiting
    waiting = []
    post(gathered)
  }

  return (report) => {
    waiting.push(report)
    if (isDue) return
    // At the end of the turn: what one piece of audio brings goes in one.
    isDue = true
    queueMicrotask(look)
  }
}

const patient: ReadonlySet<RadioReport['kind']> = new Set(['row', 'reading', 'audio'])
