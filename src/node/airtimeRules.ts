import { type Airtime, type Priority, priorities } from '../radio/port.js'
import type { QueuedFrame } from './sendQueue.js'

/** What a radio has to do at a moment. */
export interface RadioLoad {
  readonly nowMs: number
  /** time of the key line for what it was given and has not sent, and for what follows that */
  readonly openMs: number
  /** share of the time that acknowledgements took lately */
  readonly acknowledgementShare: number
  /** an emergency waits */
  readonly isUrgent: boolean
}

/** Whether the first frame that waits may be given to its radio. */
export type MayGo =
  | { readonly kind: 'now' }
  /** when something was sent: the radio has enough to do */
  | { readonly kind: 'after others' }
  /** it shares a transmission with what comes until then */
  | { readonly kind: 'with others'; readonly untilMs: number }
  /** the duty limit allows it then, or more is known then */
  | { readonly kind: 'with airtime'; readonly untilMs: number }

/**
 * A radio is given at most so much at a time, ms: enough for one transmission, in which frames share the key delay, and little
 * enough that what is more urgent, or whose turn comes first, is not overtaken.
 */
const handedMsMax = 6_000

/**
 * What is sent again, refusals, mail and beacons leave this share of what a duty limit allows: so the next question is
 * answered at once, and not when the window has moved on.
 */
const leftToFirstCopies = 0.15

/**
 * Where the duty limit leaves little but its reserve, acknowledgements wait so long for others: one takes 0.2 s, and a
 * transmission 0.4 s besides. Radios repeat after some 12 s or more (common practice, no source).
 */
const gatheredMs = 6_000
/** Two frames of an answer. */
const littleMs = 2_000

/** @param airtime what the radio may send now */
export function mayGo(frame: QueuedFrame, airtime: Airtime, load: RadioLoad): MayGo {
  const { nowMs, openMs } = load
  const { priority, octets, turn } = frame
  const reserveMs = turn < 0 ? 0 : keptForAcknowledgements(airtime, load)
  if (hasReserve(priority)) {
    const untilMs = frame.sinceMs + gatheredMs
    const isShort = airtime.freeMs('answer') < littleMs + reserveMs
    const waits = openMs === 0 && isShort && nowMs < untilMs && !load.isUrgent
    return waits ? { kind: 'with others', untilMs } : { kind: 'now' }
  }
  const aloneMs = airtime.keyedMs([octets])
  if (openMs > 0 && openMs + aloneMs > handedMsMax) return { kind: 'after others' }
  const leftMs = isFirstCopy(priority) ? reserveMs : leftToFirstCopies * airtime.allowanceMs
  const neededMs = openMs + aloneMs + followingMs(frame, airtime) + leftMs
  if (airtime.freeMs(priority) >= neededMs) return { kind: 'now' }
  const earliestMs = airtime.earliestMs(neededMs, priority)
  if (reserveMs > 0)
    return { kind: 'with airtime', untilMs: Math.min(earliestMs, nowMs + reserveChangesMs) }
  // What no wait would allow is the radio's to judge.
  return earliestMs === Infinity ? { kind: 'now' } : { kind: 'with airtime', untilMs: earliestMs }
}

/** Time of the key line for what follows a frame, if it shares transmissions with others. */
export function followingMs({ octets, followingOctets }: QueuedFrame, airtime: Airtime): number {
  if (followingOctets === 0) return 0
  return ((airtime.keyedMs([octets]) - airtime.keyedMs([])) * followingOctets) / octets.length
}

/**
 * Answers leave so much that acknowledgements can go on as they did lately until the window moves on and airtime comes back, up
 * to a share of what a duty limit allows. As that moment comes near, less and less is kept: none of it is lost.
 */
function keptForAcknowledgements(airtime: Airtime, load: RadioLoad): number {
  const { nowMs, acknowledgementShare } = load
  const { allowanceMs } = airtime
  if (acknowledgementShare === 0 || allowanceMs === Infinity) return 0
  const moreMs = airtime.freeMs('acknowledgement') + noticeable * allowanceMs
  const comesBackMs = airtime.earliestMs(moreMs, 'acknowledgement')
  return Math.min(keptShareMax * allowanceMs, acknowledgementShare * (comesBackMs - nowMs))
}

const keptShareMax = 0.25
/** Of what a limit allows: as much must have come back to count. */
const noticeable = 0.03
/** What is kept for acknowledgements is another after this. */
const reserveChangesMs = 5_000

const rank = (priority: Priority): number => priorities.indexOf(priority)

/** They do not wait until the radio has less to do or the duty limit allows more: the radio sends them before all else. */
export const hasReserve = (priority: Priority): boolean => rank(priority) <= rank('emergency')

const isFirstCopy = (priority: Priority): boolean => rank(priority) <= rank('answer')
