import type { Clock } from './clock.js'

/*
 * A board without a clock chip wakes in some other year, and a wall clock may be set at any moment. So what is kept for days
 * expires only while there is reason to believe the wall clock.
 */

/** Whether the wall clock may be believed. */
export interface ClockTrust {
  /**
   * True while a GPS agrees with the clock, or network time was received and nothing has set the clock since, or the wall clock has gone
   * with the monotonic one for an hour. A GPS that disagrees outweighs the others. Looks at both clocks: ask about once a
   * minute, and whenever something is to expire.
   */
  trusted(): boolean
  /** As trusted, by a source of time alone: an hour of agreement says nothing about a clock that was wrong all along. */
  confirmed(): boolean
  /** how often the clock was seen to be set, and by how much the last time, in ms; above 0 is forward */
  readonly steps: { readonly count: number; readonly lastMs: number }
  /** Tells what a GPS says. @param behindMs how far the wall clock lies behind GPS time; below 0 when it is ahead */
  gpsSays(behindMs: number): void
  /**
   * Tells how far the wall clock was ahead of the monotonic one in a former run under the same boot, ms: where it is not so any
   * more, it was set since. Undefined: nothing had confirmed it, and a mark of network time that is older than this run does not.
   */
  wasAhead(aheadMs: number | undefined): void
}

export interface ClockTrustOptions {
  /**
   * When network time was last received: the wall clock in ms as the machine's service for it stamped it then, having set it.
   * Undefined: there is no such mark.
   */
  readonly networkTimeMark?: () => number | undefined
}

const agreementMs = 3_600_000
/** Time services set a clock by steps only when it is off by more than they can make up by going faster or slower. */
const stepMsMin = 5_000
/** GPS over a serial line comes up to a second late; passes and logs shift by less than they are told to. */
const gpsOffMsMax = 5_000
const gpsAgeMaxMs = 600_000
/** A mark is made a moment after the clock is set, and by a coarser clock; what is set by less is no step. */
const markOffMsMax = 5_000

export function clockTrust(clock: Clock, options: ClockTrustOptions = {}): ClockTrust {
  const markNow = options.networkTimeMark ?? (() => undefined)
  const aheadMs = (): number => clock.wallMs() - clock.monotonicMs()
  let referenceMs = aheadMs()
  let agreedSinceMs = clock.monotonicMs()
  let lookedMs = clock.monotonicMs()
  let mark = markNow()
  let networkTime = mark !== undefined && clock.wallMs() - mark >= -markOffMsMax
  let gps: { readonly behindMs: number; readonly atMs: number } | undefined
  let steps = { count: 0, lastMs: 0 }

  const look = (): void => {
    const stepMs = aheadMs() - referenceMs
    const stepped = Math.abs(stepMs) >= stepMsMin
    if (stepped) {
      steps = { count: steps.count + 1, lastMs: stepMs }
      referenceMs += stepMs
      agreedSinceMs = clock.monotonicMs()
      gps = undefined
    }
    const sinceMs = clock.monotonicMs() - lookedMs
    lookedMs += sinceMs
    const markBefore = mark
    mark = markNow()
    // A step and a new mark: somebody else may have set the clock again after the network did. The next mark will tell.
    if (stepped) networkTime = false
    else if (mark !== markBefore) networkTime = mark !== undefined && isOfNow(mark, sinceMs)
  }

  /** A mark made since the last look, by the clock as it is now; else that was set after the mark, to where it was before. */
  const isOfNow = (markMs: number, sinceMs: number): boolean => {
    const ageMs = clock.wallMs() - markMs
    return ageMs >= -markOffMsMax && ageMs <= sinceMs + markOffMsMax
  }

  /** undefined where no source says anything */
  const bySource = (): boolean | undefined => {
    look()
    if (gps !== undefined && clock.monotonicMs() - gps.atMs <= gpsAgeMaxMs)
      return Math.abs(gps.behindMs) <= gpsOffMsMax
    return networkTime ? true : undefined
  }

  return {
    trusted: () => bySource() ?? clock.monotonicMs() - agreedSinceMs >= agreementMs,
    confirmed: () => bySource() === true,
    get steps() {
      look()
      return steps
    },
    gpsSays(behindMs) {
      look()
      gps = { behindMs, atMs: clock.monotonicMs() }
    },
    wasAhead(formerMs) {
      look()
      if (formerMs === undefined) networkTime = false
      else referenceMs = formerMs
      look()
    },
  }
}

/** Stamps of radio and main thread may differ by so much, and time services turn a clock back by a little. */
const aheadMsMax = 5_000

/** How old a stamp of the wall clock is; undefined for one that lies ahead: the clock was set since, and nobody knows. */
export function wallAgeMs(stampWallMs: number, nowWallMs: number): number | undefined {
  const ageMs = nowWallMs - stampWallMs
  return ageMs < -aheadMsMax ? undefined : Math.max(0, ageMs)
}
