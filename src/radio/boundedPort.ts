import { createAllowance } from '../runtime/allowance.js'
import type { Clock } from '../runtime/clock.js'
import { createGuard } from '../runtime/guard.js'
import type { HeardFrame } from './port.js'
import type { RadioPort } from './radioPort.js'
import { wrapPort } from './wrapPort.js'

export interface BoundedPortOptions {
  readonly clock: Clock
  /** told in words, with each frame that is dropped: whoever hears it says it now and then */
  readonly onDropped: (reason: string) => void
  /** told in words what a listener threw, which reaches nobody else */
  readonly onFault: (text: string) => void
}

export interface BoundedPort extends RadioPort {
  /** frames that were heard and given to nobody; each only grows */
  readonly dropped: Readonly<{
    /** they came faster than on any channel */
    tooFast: number
    /** the main thread was behind by as much as may wait */
    tooMany: number
  }>
}

/**
 * The shortest frames of a channel of 9600 baud come at 60 a second for a moment; of 1200 baud, at 7. What comes faster than
 * this for long comes from a modem that is broken, or is none.
 */
const burstMax = 200
const framesPerSecond = 30
/** Frames that may wait for the main thread: several seconds of the fastest channel. */
const waitingMax = 200
/** Heard frames have the main thread for so long at a time, ms, and half of its time in the long run. */
const turnMs = 20
const workMsPerSecond = 500

/**
 * The same radio; what it hears is given on in turns between which everything else has the main thread, and no faster than
 * a channel can carry. A question costs the disk's time: 440 of them a second stood between the thread and its timers for
 * seconds, on an SD card for half a minute.
 */
export function boundedPort(port: RadioPort, options: BoundedPortOptions): BoundedPort {
  const { clock, onDropped, onFault } = options
  const guard = createGuard(({ what, reason }) => onFault(`${what}: ${reason}`))
  const listeners: ((frame: HeardFrame) => void)[] = []
  const allowance = createAllowance(clock, burstMax, framesPerSecond)
  const workTime = createAllowance(clock, turnMs, workMsPerSecond)
  const dropped = { tooFast: 0, tooMany: 0 }
  const waiting: HeardFrame[] = []
  /** working, or resting from it */
  let busy = false

  const work = (): void => {
    busy = true
    for (let frame = waiting.shift(); frame !== undefined; frame = waiting.shift()) {
      const beganMs = clock.monotonicMs()
      for (const listener of listeners) guard.call('a frame that was heard', () => listener(frame))
      const restMs = workTime.owe(clock.monotonicMs() - beganMs)
      if (restMs === 0) continue
      clock.at(clock.monotonicMs() + restMs, work)
      return
    }
    busy = false
  }

  port.onFrame((frame) => {
    if (!allowance.take(1)) {
      dropped.tooFast++
      onDropped(`more than ${framesPerSecond} frames a second, faster than any channel`)
    } else if (waiting.length >= waitingMax) {
      dropped.tooMany++
      onDropped(`${waitingMax} frames wait already`)
    } else {
      waiting.push(frame)
      if (!busy) work()
    }
  })
  return {
    ...wrapPort(port, {
      onFrame: (listener) => void listeners.push(listener),
      state() {
        const state = port.state()
        return { ...state, faultCount: (state.faultCount ?? 0) + guard.faultCount }
      },
    }),
    dropped,
  }
}
