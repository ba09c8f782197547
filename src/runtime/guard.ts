import type { Clock } from './clock.js'
import { errorText } from './errorText.js'

/** What a guard caught. */
export interface CaughtFault {
  /** where it was caught: 'a timer', 'a frame that was heard' */
  readonly what: string
  /** what was thrown, with the place in the code where that is known: 'x is undefined (letter.ts:88)' */
  readonly reason: string
  readonly error: unknown
}

/**
 * Stands where the outside comes in: timers, listeners, messages of a worker, rows of a database. What is thrown there is
 * counted, reported once for each place in the code, and goes no further, so that no frame, row or moment ends the process.
 *
 *     const guard = createGuard(({ what, reason }) => log.fault(`${what}: ${reason}`))
 *     guard.call('a frame that was heard', () => attend(frame))
 *     socket.on('data', guard.listener('what a client sends', (chunk) => read(chunk)))
 *     const clock = guardedClock(realClock, guard) // every timer booked on it is guarded
 */
export interface Guard {
  /** What `run` returns; undefined when it throws. Of a promise that fails, too, nothing but undefined comes. */
  call<Value>(what: string, run: () => Value): Value | undefined
  /** `run` as a listener that never throws. */
  listener<Values extends readonly unknown[]>(
    what: string,
    run: (...values: Values) => void,
  ): (...values: Values) => void
  /** faults caught so far, also those that were not reported again */
  readonly faultCount: number
}

/** Places in the code that are remembered; there are not so many, unless something is very wrong. */
const placesMax = 200

/** @param report called at the first fault of each place; what it throws itself is counted, and nothing else */
export function createGuard(report: (fault: CaughtFault) => void): Guard {
  const reported = new Set<string>()
  let faultCount = 0
  let reporting = false

  const caught = (what: string, error: unknown): undefined => {
    faultCount++
    const place = placeOf(error)
    const key = `${what} ${place}`
    if (reporting || reported.has(key) || reported.size >= placesMax) return undefined
    reported.add(key)
    reporting = true
    try {
      const reason = errorText(error)
      report({ what, reason: place === '' ? reason : `${reason} (${place})`, error })
    } catch {
      faultCount++
    } finally {
      reporting = false
    }
    return undefined
  }

  const call = <Value>(what: string, run: () => Value): Value | undefined => {
    try {
      const value = run()
      if (value instanceof Promise) return value.catch((error) => caught(what, error)) as Value
      return value
    } catch (error) {
      return caught(what, error)
    }
  }

  return {
    call,
    listener:
      (what, run) =>
      (...values) => {
        call(what, () => run(...values))
      },
    get faultCount() {
      return faultCount
    },
  }
}

/** The same clock; what a timer throws is the guard's. */
export function guardedClock(clock: Clock, guard: Guard): Clock {
  return {
    monotonicMs: () => clock.monotonicMs(),
    wallMs: () => clock.wallMs(),
    at: (atMonotonicMs, run, how) =>
      clock.at(atMonotonicMs, () => void guard.call('a timer', run), how),
  }
}

/** File and line where an error was made, as its stack tells; '' where it tells nothing. */
function placeOf(error: unknown): string {
  const stack = error instanceof Error ? error.stack : undefined
  const first = stack?.split('\n').find((line) => /^\s+at /.test(line))
  return first?.match(/([^/\\() ]+:\d+):\d+\)?$/)?.[1] ?? ''
}
