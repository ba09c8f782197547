import { formatAddress } from '../../ax25/address.js'
import { type Ax25Frame, decodeFrame, encodeFrame } from '../../ax25/frame.js'
import type { HeardFrame } from '../../radio/port.js'
import type { Clock } from '../../runtime/clock.js'
import type { Random } from '../../runtime/random.js'
import { copyKey } from '../copies.js'
import { type Ending, tally } from '../tally.js'
import type { Transmitter } from '../transmitter.js'
import { recently } from './recently.js'
import { type RepeatLimits, repeatLimits } from './repeatLimits.js'
import { type Asked, repeatQueue } from './repeatQueue.js'
import { decideRepeat, type RepeatRules } from './repeatRules.js'

/** From the radio that hears to the one that repeats. */
export interface DigipeaterRoute {
  readonly from: number
  readonly to: number
}

export interface DigipeaterOptions extends RepeatRules, RepeatLimits {
  readonly routes: readonly DigipeaterRoute[]
  /** a frame that found no free channel by then is of no use */
  readonly notAfterMs: number
  /** waits so long for others, and leaves to them what enough of them repeat; 0 repeats at once */
  readonly waitForOthersMs: number
  readonly othersEnough: number
}

export interface DigipeaterParts {
  readonly clock: Clock
  readonly random: Random
  readonly transmitter: Pick<Transmitter, 'send'>
  readonly options: DigipeaterOptions
  /** how far away a station is, as far as it is known, m */
  readonly distanceM: (call: string) => number | undefined
}

export interface Digipeater {
  /** Every frame that a radio heard. */
  take(frame: HeardFrame): void
  stop(): void
  readonly repeatedCount: number
  /** why frames were not repeated, most frequent first */
  readonly reasons: readonly Ending[]
}

/** Builds the digipeater of a node; given to createNode only where it is configured. */
export type MakeDigipeater = (parts: Omit<DigipeaterParts, 'options'>) => Digipeater

/** Copies of a frame count as one for so long, whatever their paths (28 to 30 s are in use: common practice). */
export const copyWindowMs = 30_000
/** Repeats what it hears for stations that cannot hear each other, each frame once. */
export function digipeater(parts: DigipeaterParts): Digipeater {
  const { clock, random, transmitter, options } = parts
  const reasons = tally()
  const limits = repeatLimits(options, formatAddress(options.own), parts.distanceM)
  const done = recently(copyWindowMs)
  const heardOn = recently(copyWindowMs)
  let repeatedCount = 0
  let takenCount = 0
  let stopped = false

  const refuse = (reason: string): void => reasons.note('not repeated', reason)
  const queue = repeatQueue({
    ...{ clock, random, transmitter, admit: limits.note, onRefused: refuse },
    ...{ waitForOthersMs: options.waitForOthersMs, othersEnough: options.othersEnough },
    ...{ notAfterMs: options.notAfterMs },
    onSent() {
      repeatedCount++
    },
  })

  /** @returns why it is not repeated */
  const consider = (asked: Asked): string | undefined => {
    const { frame, source, route, key, isMessage } = asked
    const nowMs = clock.monotonicMs()
    if (isMessage && (queue.settles(asked) ?? done.has(key, nowMs)))
      return 'a copy of one that was repeated'
    const decision = decideRepeat(frame, options)
    if (!decision.repeat) return decision.reason
    if (isMessage && route.from !== route.to && heardOn.has(key, nowMs))
      return 'heard on the other radio, too'
    const reason = limits.whyNot(frame, source)
    if (reason !== undefined) return reason
    if (queue.isFull) return 'too many wait'
    if (isMessage) done.note(key, nowMs)
    queue.add(asked, decision)
    return undefined
  }

  return {
    take({ octets, radio, repairedBits }) {
      const decoded = decodeFrame(octets)
      if (stopped || !decoded.ok) return
      const { frame } = decoded
      for (const route of options.routes) {
        if (route.from !== radio) continue
        const reason =
          whyUnfit(frame, octets, repairedBits) ?? consider(askedBy(frame, route, takenCount++))
        if (reason !== undefined) refuse(reason)
      }
      for (const { to } of options.routes)
        if (to === radio) heardOn.note(`${to} ${copyKey(frame)}`, clock.monotonicMs())
    },
    stop() {
      stopped = true
      queue.stop()
    },
    get repeatedCount() {
      return repeatedCount
    },
    get reasons() {
      return reasons.endings
    },
  }
}

/** @param number of its own, for a frame of a connection */
function askedBy(frame: Ax25Frame, route: DigipeaterRoute, number: number): Asked {
  const isMessage = frame.control.type === 'UI'
  return {
    ...{ frame, route, isMessage, source: formatAddress(frame.source) },
    key: `${route.to} ${isMessage ? copyKey(frame) : `connection ${number}`}`,
    usedCount: frame.path.filter(({ repeated }) => repeated).length,
  }
}

/** A wrong bit, or one that we cannot write as it came, would go out with a right check sequence. */
function whyUnfit(frame: Ax25Frame, octets: Uint8Array, repairedBits: number): string | undefined {
  if (repairedBits > 0) return 'it was repaired'
  return Buffer.from(encodeFrame(frame)).equals(octets)
    ? undefined
    : 'it cannot be sent on unchanged'
}
