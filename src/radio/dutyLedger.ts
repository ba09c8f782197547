/** The key line may be on for at most `share` of any window of `windowMs`. */
export interface DutyLimit {
  readonly windowMs: number
  /** above 0, at most 1 */
  readonly share: number
}

/** A stretch of time during which the key line was on. */
export interface KeyedSpan {
  readonly fromMs: number
  readonly toMs: number
}

/** What the key line did, and what the duty limits still allow. Times are monotonic; spans come in order. */
export interface DutyLedger {
  /** Writes down a finished transmission. */
  note(span: KeyedSpan): void
  /** How long the line may be on from `fromMs` on, without a break, if nothing else is sent; 0 where not at all. */
  longestMs(fromMs: number): number
  /**
   * The earliest moment, not before `fromMs`, at which the line may be on for `durationMs` without a break.
   * @returns undefined when no moment ever allows it: the duration alone exceeds a limit
   */
  earliestMs(fromMs: number, durationMs: number): number | undefined
  /**
   * Share of the allowance that is used up at a moment, of the limit that is nearest to being reached; 0 to 1.
   * @param keyedSinceMs start of a transmission that is still running
   */
  usedShare(atMs: number, keyedSinceMs?: number): number
  /** Spans that still count, oldest first. */
  spans(): readonly KeyedSpan[]
}

/**
 * Why this is exact for any rolling window: while the line is on, the time on within the window that ends now grows or
 * stays (what enters at its end enters whole, what leaves at its beginning may be off-time); while it is off, it shrinks
 * or stays. So it is greatest when a transmission ends, and a transmission that is right at its own end is right always.
 * @param past spans of an earlier life of the radio
 * @throws RangeError for a share outside 0 to 1 or a window of no length
 */
export function createDutyLedger(
  limits: readonly DutyLimit[],
  past: readonly KeyedSpan[] = [],
): DutyLedger {
  for (const { share, windowMs } of limits) {
    if (!(share > 0 && share <= 1) || !(windowMs > 0))
      throw new RangeError(`duty limit: got a share of ${share} in ${windowMs} ms`)
  }
  const longestWindowMs = Math.max(0, ...limits.map((limit) => limit.windowMs))
  const spans: KeyedSpan[] = [...past]

  return {
    note(span) {
      if (span.toMs > span.fromMs) spans.push(span)
      while (spans[0] !== undefined && spans[0].toMs < span.toMs - longestWindowMs) spans.shift()
    },
    longestMs(fromMs) {
      let longest = Number.POSITIVE_INFINITY
      for (const limit of limits) longest = Math.min(longest, longestUnder(limit, spans, fromMs))
      return longest
    },
    earliestMs(fromMs, durationMs) {
      let earliest = fromMs
      for (const limit of limits) {
        const atMs = earliestUnder(limit, spans, durationMs)
        if (atMs === undefined) return undefined
        earliest = Math.max(earliest, atMs)
      }
      return earliest
    },
    usedShare(atMs, keyedSinceMs = atMs) {
      let most = 0
      for (const { windowMs, share } of limits) {
        const used = onTime(spans, atMs - windowMs, atMs) + (atMs - keyedSinceMs)
        most = Math.max(most, used / (share * windowMs))
      }
      return Math.min(1, most)
    },
    spans: () => spans,
  }
}

/** Most that the key line may be on in the window that limits it most, ms; Infinity where nothing does. */
export function allowanceOf(limits: readonly DutyLimit[]): number {
  const allowances = limits.map(({ share, windowMs }) => (share < 1 ? share * windowMs : Infinity))
  return Math.min(Infinity, ...allowances)
}

/** Time on within fromMs to toMs. */
export function onTime(spans: readonly KeyedSpan[], fromMs: number, toMs: number): number {
  let sum = 0
  for (const span of spans)
    sum += Math.max(0, Math.min(span.toMs, toMs) - Math.max(span.fromMs, fromMs))
  return sum
}

/** Rounding errors of a few additions must neither hold a frame that fits exactly nor let the limit slip. */
const roundingMs = 1e-6

/** Largest d with: time on in the window that ends at fromMs + d, past and d together, is at most the allowance. */
function longestUnder(limit: DutyLimit, spans: readonly KeyedSpan[], fromMs: number): number {
  const allowanceMs = limit.share * limit.windowMs
  if (limit.share >= 1) return Number.POSITIVE_INFINITY
  // That sum never falls as d grows, and is piecewise linear: it stands still while an on-stretch leaves the window as
  // fast as new on-time enters, and rises at one while an off-stretch leaves. Walk those stretches.
  let duration = 0
  let room = allowanceMs - onTime(spans, fromMs - limit.windowMs, fromMs)
  if (room < -roundingMs) return 0
  room = Math.max(0, room)
  for (const span of spans) {
    const leavesFrom = span.fromMs + limit.windowMs - fromMs
    const leavesTo = span.toMs + limit.windowMs - fromMs
    if (leavesTo <= duration) continue
    const rise = Math.max(0, leavesFrom - duration)
    if (rise > room + roundingMs) return duration + room
    room = Math.max(0, room - rise)
    duration = leavesTo
  }
  // Past all spans only the transmission itself counts: it may be no longer than the allowance.
  return Math.min(duration + room, allowanceMs)
}

/** Earliest start of a transmission of durationMs: when enough of the past has left the window that ends with it. */
function earliestUnder(
  limit: DutyLimit,
  spans: readonly KeyedSpan[],
  durationMs: number,
): number | undefined {
  if (limit.share >= 1) return Number.NEGATIVE_INFINITY
  let room = limit.share * limit.windowMs - durationMs
  if (room < -roundingMs) return undefined
  room = Math.max(0, room)
  for (let index = spans.length - 1; index >= 0; index--) {
    const span = spans[index]!
    const length = span.toMs - span.fromMs
    if (length > room) return span.toMs - room + limit.windowMs - durationMs
    room -= length
  }
  return Number.NEGATIVE_INFINITY
}
