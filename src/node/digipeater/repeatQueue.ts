import type { Ax25Frame } from '../../ax25/frame.js'
import { encodeFrame } from '../../ax25/frame.js'
import type { Cancel, Clock } from '../../runtime/clock.js'
import type { Random } from '../../runtime/random.js'
import type { TakeBack, Transmitter } from '../transmitter.js'
import type { DigipeaterRoute } from './digipeater.js'
import type { RepeatDecision } from './repeatRules.js'

const waitingMax = 100

/** A frame that waits for others to repeat it, or for the channel. */
interface Waiting {
  /** digipeaters of the copy that is to be repeated, used ones */
  readonly usedCount: number
  /** copies of it that others repeated */
  othersCount: number
  cancel: Cancel | TakeBack
}

/** A frame as it came, with what was made out of it. */
export interface Asked {
  readonly frame: Ax25Frame
  readonly source: string
  readonly route: DigipeaterRoute
  /** what makes copies the same; a frame of a connection comes again when it is lost: each is its own */
  readonly key: string
  readonly isMessage: boolean
  readonly usedCount: number
}

export type Repeat = Extract<RepeatDecision, { repeat: true }>

/** What is about to be repeated: waits for others to do it first, then for the channel. */
export interface RepeatQueue {
  readonly isFull: boolean
  /**
   * Whether what waits of this frame settles the copy, too; undefined when nothing of it waits. Once enough
   * others have repeated it, the last copy takes the place of the one that waits: what it still asks for may be ours.
   */
  settles(copy: Asked): boolean | undefined
  add(asked: Asked, repeat: Repeat): void
  stop(): void
}

/** @param parts.admit the last look before it is sent: why it is one too many */
export function repeatQueue(parts: {
  readonly clock: Clock
  readonly random: Random
  readonly transmitter: Pick<Transmitter, 'send'>
  readonly waitForOthersMs: number
  readonly othersEnough: number
  readonly notAfterMs: number
  readonly admit: (source: string, nowMs: number) => string | undefined
  readonly onSent: () => void
  readonly onRefused: (reason: string) => void
}): RepeatQueue {
  const { clock, waitForOthersMs } = parts
  const waiting = new Map<string, Waiting>()

  const send = ({ key, source, route }: Asked, octets: Uint8Array): void => {
    const nowMs = clock.monotonicMs()
    const tooMany = parts.admit(source, nowMs)
    if (tooMany !== undefined) {
      waiting.delete(key)
      parts.onRefused(tooMany)
      return
    }
    const takeBack = parts.transmitter.send({
      ...{ whole: octets, payload: octets, path: [], radio: route.to, priority: 'digipeat' },
      ...{ notAfterMs: nowMs + parts.notAfterMs, station: source },
      text: `a frame of ${source}, repeated`,
      onEnd(outcome) {
        waiting.delete(key)
        if (outcome.kind === 'sent') parts.onSent()
        else parts.onRefused(outcome.reason)
      },
    })
    const entry = waiting.get(key)
    if (entry !== undefined) entry.cancel = takeBack
  }

  return {
    get isFull() {
      return waiting.size >= waitingMax
    },
    settles({ key, usedCount }) {
      const entry = waiting.get(key)
      if (entry === undefined) return undefined
      if (waitForOthersMs === 0 || usedCount <= entry.usedCount) return true
      if (++entry.othersCount < parts.othersEnough) return true
      entry.cancel(repeatedByAnother)
      waiting.delete(key)
      parts.onRefused(repeatedByAnother)
      return false
    },
    add(asked, { path, byName }) {
      const octets = encodeFrame({ ...asked.frame, path })
      const entry: Waiting = { usedCount: asked.usedCount, othersCount: 0, cancel: () => {} }
      waiting.set(asked.key, entry)
      if (waitForOthersMs === 0 || byName || !asked.isMessage) {
        send(asked, octets)
        return
      }
      // Spread, so that of several that wait one is first and the others hear it.
      const waitMs = waitForOthersMs * (1 + parts.random())
      entry.cancel = clock.at(clock.monotonicMs() + waitMs, () => send(asked, octets))
    },
    stop() {
      for (const { cancel } of waiting.values()) cancel('the node stops')
      waiting.clear()
    },
  }
}

const repeatedByAnother = 'others repeated it'
