import type { RadioPort } from '../../radio/radioPort.js'
import { createAllowance } from '../../runtime/allowance.js'
import type { Clock } from '../../runtime/clock.js'
import { errorText } from '../../runtime/errorText.js'

export interface LastResortOptions {
  readonly clock: Clock
  readonly ports: readonly Pick<RadioPort, 'hold' | 'release'>[]
  /** told first of all, in words */
  readonly onError: (text: string) => void
  /** too many of them: the program should end, and be started anew */
  readonly onTooMany: () => void
}

/** Faults of the program that one life of it is worth: so many at once, and one more each hour. */
const faultsMax = 5
const faultsPerSecond = 1 / 3600
/** From the fault to the next transmission, ms. */
const restMs = 1000
const source = 'program fault'

/**
 * For what was thrown and caught by nobody, which the guards of timers and listeners should leave nothing of. It unkeys
 * first, records, and then decides: a single fault leaves a node that goes on, since nobody is there to start it again and
 * what it was about is lost already; one that comes again and again ends it in order.
 * @returns to be called with whatever is thrown
 */
export function createLastResort(options: LastResortOptions): (error: unknown) => void {
  const { clock, ports, onError, onTooMany } = options
  const allowance = createAllowance(clock, faultsMax, faultsPerSecond)
  const quietly = (run: () => void): void => {
    try {
      run()
    } catch {
      // nobody is left to tell
    }
  }
  return (error) => {
    const reason = errorText(error)
    for (const port of ports) quietly(() => port.hold(source, 'the program is at fault'))
    quietly(() => onError(`the program is at fault: ${reason}${stackOf(error)}`))
    if (!allowance.take(1)) {
      quietly(onTooMany)
      return
    }
    clock.at(clock.monotonicMs() + restMs, () => {
      for (const port of ports) quietly(() => port.release(source))
    })
  }
}

/** The first places of a stack: they go into one line of the log. */
function stackOf(error: unknown): string {
  const places = error instanceof Error ? error.stack?.match(/^\s+at .*$/gm) : undefined
  return places === undefined || places === null
    ? ''
    : ` (${places
        .slice(0, 4)
        .map((place) => place.trim())
        .join('; ')})`
}
