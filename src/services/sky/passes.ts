import type { ElementSet } from './elementSet.js'
import { type Look, looksFrom, type Observer, periodMsOf, slowPeriodMs } from './look.js'

export interface LookAtTime extends Look {
  readonly wallMs: number
}

/** One time above the horizon. A rise at the start, or a set at the end, of the span that was searched is cut there. */
export interface Pass {
  readonly rise: LookAtTime
  readonly highest: LookAtTime
  readonly set: LookAtTime
  /** it was up already when the search began */
  readonly upAtStart: boolean
  /** it was still up when the search ended */
  readonly upAtEnd: boolean
}

/** Between two looks at the slowest satellites. */
export const longestStepMs = 120_000
const stepMs = 30_000
const toleranceMs = 50

type See = (wallMs: number) => LookAtTime | undefined

/**
 * Every pass in a span, in order. The search ends early when SGP4 gives no more places.
 * @param maskDeg elevation that counts as the horizon
 * @param riseToWallMs passes that rise later are not looked for, nor, past it, the end of one that is up at the start
 */
export function* passesOf(
  set: ElementSet,
  observer: Observer,
  fromWallMs: number,
  toWallMs: number,
  maskDeg = 0,
  riseToWallMs = toWallMs,
): Generator<Pass> {
  const lookAt = looksFrom(set, observer)
  const see: See = (wallMs) => {
    const look = lookAt(wallMs)
    return look && { ...look, wallMs }
  }
  const step = periodMsOf(set) >= slowPeriodMs ? longestStepMs : stepMs
  let before: LookAtTime | undefined
  let open: { rise: LookAtTime; highest: LookAtTime; upAtStart: boolean } | undefined
  for (const look of looksWithTops(see, fromWallMs, toWallMs, step)) {
    if (look.elevationDeg >= maskDeg) {
      if (open === undefined) {
        const rise = before === undefined ? look : crossing(see, before, look, maskDeg)
        open = { rise, highest: look, upAtStart: before === undefined }
      } else if (look.elevationDeg > open.highest.elevationDeg) open.highest = look
    } else if (open !== undefined) {
      yield { ...open, set: crossing(see, look, before!, maskDeg), upAtEnd: false }
      open = undefined
    }
    if (look.wallMs > riseToWallMs && (open === undefined || open.upAtStart)) return
    before = look
  }
  if (open !== undefined) yield { ...open, set: before!, upAtEnd: true }
}

/**
 * Looks at regular times, and between them every highest point, so that a pass shorter than a step is not missed
 * and any two neighbours have at most one crossing of the horizon between them.
 */
function* looksWithTops(
  see: See,
  fromMs: number,
  toMs: number,
  step: number,
): Generator<LookAtTime> {
  let before: LookAtTime | undefined
  let here = see(fromMs)
  while (here !== undefined) {
    const next = here.wallMs < toMs ? see(Math.min(here.wallMs + step, toMs)) : undefined
    const isTop =
      before !== undefined &&
      next !== undefined &&
      here.elevationDeg >= before.elevationDeg &&
      here.elevationDeg > next.elevationDeg
    const top = isTop ? topBetween(see, before!.wallMs, next.wallMs) : undefined
    if (top !== undefined && top.wallMs < here.wallMs) yield top
    yield here
    if (top !== undefined && top.wallMs > here.wallMs) yield top
    before = here
    here = next
  }
}

/** The highest point between two times that have one only: thirds are cut off from the lower side. */
function topBetween(see: See, fromMs: number, toMs: number): LookAtTime | undefined {
  let low = fromMs
  let high = toMs
  while (high - low > toleranceMs) {
    const left = see(low + (high - low) / 3)
    const right = see(high - (high - low) / 3)
    if (left === undefined || right === undefined) return undefined
    if (left.elevationDeg < right.elevationDeg) low = left.wallMs
    else high = right.wallMs
  }
  return see((low + high) / 2)
}

/** The moment between a look below the mask and one above it, in either order in time; just above it. */
function crossing(see: See, below: LookAtTime, above: LookAtTime, maskDeg: number): LookAtTime {
  let under = below.wallMs
  let over = above
  while (Math.abs(over.wallMs - under) > toleranceMs) {
    const middle = see((under + over.wallMs) / 2)
    if (middle === undefined) break
    if (middle.elevationDeg >= maskDeg) over = middle
    else under = middle.wallMs
  }
  return over
}
