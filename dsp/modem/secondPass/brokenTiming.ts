// Symbol timing that jumps once within a segment, because samples were lost there.
import { symbolSamples } from '../sequence/toneCorrelations.js'
import type { FirstGuess } from './fit.js'

/** Timing of a segment with a hole: symbol k begins at start + length k before it, and `jump` samples later behind it. */
export interface BrokenTiming {
  readonly start: number
  readonly length: number
  readonly jump: number
  /** symbol at which the first pass jumped */
  readonly at: number
}

/** Timing must jump by this much, samples, and the jump explain this share of what a straight line leaves. */
const jumpMin = 0.7
const jumpExplains = 0.7
/** Least squares of a straight line with one jump in it, through the first pass's positions. */
export function brokenTiming({
  run,
  mask,
  firstSymbol: first,
  symbolCount: count,
}: FirstGuess): BrokenTiming | undefined {
  const origin = run.startSample[first & mask]!
  const deviations = Float64Array.from(
    { length: count },
    (_, k) => run.startSample[(first + k) & mask]! - origin - symbolSamples * k,
  )
  const mean = deviations.reduce((sum, y) => sum + y, 0) / count
  const middle = (count - 1) / 2
  let xx = 0
  let xy = 0
  let yy = 0
  for (let k = 0; k < count; k++) {
    xx += (k - middle) ** 2
    xy += (k - middle) * (deviations[k]! - mean)
    yy += (deviations[k]! - mean) ** 2
  }
  const left = yy - (xy * xy) / xx
  // A jump at h adds a column to the fit: what of it lies outside of line and mean takes off its share of what is left.
  let best = { gain: 0, jump: 0, at: 0 }
  let sumY = 0
  let sumX = 0
  for (let h = 1; h < count; h++) {
    sumY += deviations[h - 1]! - mean
    sumX += h - 1 - middle
    if (h < shortestPart || h > count - shortestPart) continue
    const columnX = -sumX
    const columnY = -sumY
    const size = (h * (count - h)) / count - (columnX * columnX) / xx
    const along = columnY - (columnX * xy) / xx
    const gain = (along * along) / size
    if (gain > best.gain) best = { gain, jump: along / size, at: h }
  }
  if (Math.abs(best.jump) < jumpMin || best.gain < jumpExplains * left) return undefined
  const columnX = (best.at * (count - best.at)) / 2
  const slope = (xy - best.jump * columnX) / xx
  const offset = mean - (best.jump * (count - best.at)) / count - slope * middle
  return {
    start: origin + offset,
    length: symbolSamples + slope,
    jump: best.jump,
    at: best.at,
  }
}

/** Symbols on either side that show a line of their own. */
const shortestPart = 32
