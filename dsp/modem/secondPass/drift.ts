// A tuning that wanders within a segment: single sideband from a receiver that warms up, a satellite that passes.
//
// Both tones move by the same, so products of residuals a few symbols apart turn by how far the tuning is off at that place. A
// cubic laid through these angles becomes part of the phase, where it explains much more of them than chance would. The first
// pass knew nothing of it and made many mistakes, so the tones are decided anew along it, with no phase known
// (jointTrellis.ts), before anything else is fitted.
import { decideJointly, type FloatRun } from './jointTrellis.js'
import { type Burst, burstSymbolsMax, fitSteps, takeOutPhase } from './model.js'

/** Symbols whose products are added up to one angle, and such blocks that a cubic needs at least. */
const blockSymbols = 16
const blocksMin = 12
/** Symbols between the two ends of a product: 80 Hz of drift must stay below half a turn at first, then less and less is left. */
const lags = [4, 8, 16, 32, 64] as const
/** Terms beside the mean. */
const terms = 3
/**
 * What a term explains over what is left, both per degree of freedom (an F test), from which on it is a drift. Found by trial:
 * 40 Hz of drift gave 36 and more down to 5 dB Eb/N0, steady tunings in noise 6 at most.
 */
const significanceMin = 20
/** Times that the tones are decided anew: of 50 frames a first one gave 10 more, two others 2 and 1. */
const decisions = 3

/** Finds the drift of a segment whose tones are uncertain, takes it into the phase and decides on the tones anew. */
export function findDrift(burst: Burst): void {
  alignSteps(burst)
  const drift = fitCubic(burst, lags[0])
  if (drift === undefined || drift.significance < significanceMin) return
  startDrift(burst)
  refineDrift(burst)
  for (let n = 0; n < decisions; n++) {
    decideAnew(burst)
    refineDrift(burst)
  }
}

/** Corrects the drift of a segment that has one, along its tones. */
export function refineDrift(burst: Burst): void {
  alignSteps(burst)
  for (const lag of lags) {
    const drift = fitCubic(burst, lag)
    if (drift === undefined) return
    addDrift(burst, drift.steps)
    takeOutPhase(burst)
  }
}

function alignSteps(burst: Burst): void {
  takeOutPhase(burst)
  fitSteps(burst, false)
  takeOutPhase(burst)
}

function startDrift(burst: Burst): void {
  burst.driftRe.fill(1, 0, burst.count)
  burst.driftIm.fill(0, 0, burst.count)
  burst.isDrifting = true
}

function addDrift({ count, driftRe, driftIm }: Burst, steps: readonly number[]): void {
  for (let k = 0; k < count; k++) {
    const x = placeOf(k, count)
    const step = steps.reduce((sum, size, n) => sum + size * legendre(n + 1, x), 0)
    const cos = Math.cos(step)
    const sin = Math.sin(step)
    const re = driftRe[k]! * cos - driftIm[k]! * sin
    driftIm[k] = driftRe[k]! * sin + driftIm[k]! * cos
    driftRe[k] = re
  }
}

/** A symbol's place in its segment, -1 to 1. */
const placeOf = (symbol: number, count: number): number => (2 * symbol) / count - 1

/** Legendre polynomial, of degree 3 at most. */
function legendre(degree: number, x: number): number {
  if (degree < 2) return degree === 0 ? 1 : x
  return degree === 2 ? 1.5 * x * x - 0.5 : (2.5 * x * x - 1.5) * x
}

interface Cubic {
  /** phase step of each term beside the mean, radians a symbol */
  readonly steps: readonly number[]
  readonly significance: number
}

/** Weighted least squares through the angles of the blocks; undefined for a segment that is too short. */
function fitCubic(burst: Burst, lag: number): Cubic | undefined {
  const { count } = burst
  const blocks = Math.floor((count - lag) / blockSymbols)
  if (blocks < blocksMin) return undefined
  const { angles, sizes } = blockAngles(burst, lag, blocks)
  const rows = Array.from({ length: terms + 1 }, () => new Float64Array(terms + 2))
  let square = 0
  let weight = 0
  for (let block = 0; block < blocks; block++) {
    const x = placeOf(block * blockSymbols + (blockSymbols - 1 + lag) / 2, count)
    for (let row = 0; row <= terms; row++) {
      const weighed = sizes[block]! * legendre(row, x)
      for (let column = 0; column <= terms; column++)
        rows[row]![column]! += weighed * legendre(column, x)
      rows[row]![terms + 1]! += weighed * angles[block]!
    }
    square += sizes[block]! * angles[block]! ** 2
    weight += sizes[block]!
  }
  const right = rows.map((row) => row[terms + 1]!)
  const sizesOfTerms = solve(rows)
  const explained = sizesOfTerms.reduce((sum, size, n) => sum + size * right[n]!, 0)
  const left = (square - explained) / (blocks - terms - 1)
  const more = (explained - right[0]! ** 2 / weight) / terms
  return {
    steps: sizesOfTerms.slice(1).map((size) => size / lag),
    significance: more / (left + 1e-12),
  }
}

/** How far the tuning turns the phase in `lag` symbols, by block, beside its mean. */
function blockAngles(
  { residualRe, residualIm }: Burst,
  lag: number,
  blocks: number,
): { angles: Float64Array; sizes: Float64Array } {
  const re = new Float64Array(blocks)
  const im = new Float64Array(blocks)
  let [allRe, allIm] = [0, 0]
  for (let block = 0; block < blocks; block++) {
    for (let k = block * blockSymbols; k < (block + 1) * blockSymbols; k++) {
      const late = k + lag
      re[block]! += residualRe[late]! * residualRe[k]! + residualIm[late]! * residualIm[k]!
      im[block]! += residualIm[late]! * residualRe[k]! - residualRe[late]! * residualIm[k]!
    }
    allRe += re[block]!
    allIm += im[block]!
  }
  const mean = Math.atan2(allIm, allRe)
  const fullTurn = 2 * Math.PI
  return {
    angles: re.map((x, block) => {
      const angle = Math.atan2(im[block]!, x) - mean
      return angle - fullTurn * Math.round(angle / fullTurn)
    }),
    sizes: re.map((x, block) => Math.hypot(x, im[block]!)),
  }
}

/** Equations with the right side in their last column, by elimination; they are positive definite, which needs no other pivots. */
function solve(rows: readonly Float64Array[]): number[] {
  const size = rows.length
  for (let pivot = 0; pivot < size; pivot++)
    for (let row = 0; row < size; row++) {
      if (row === pivot) continue
      const factor = rows[row]![pivot]! / (rows[pivot]![pivot]! + tiny)
      for (let column = pivot; column <= size; column++)
        rows[row]![column]! -= factor * rows[pivot]![column]!
    }
  return rows.map((row, at) => row[size]! / (row[at]! + tiny))
}

const tiny = 1e-12

/** Made when first needed: most stations never hear a drift. */
let straightened: { run: FloatRun; weights: Float32Array } | undefined

/** Decides on the tones along the drift, with no phase known. */
function decideAnew(burst: Burst): void {
  const { count, tones, parameters } = burst
  straightened ??= {
    run: {
      markRe: new Float32Array(burstSymbolsMax),
      markIm: new Float32Array(burstSymbolsMax),
      spaceRe: new Float32Array(burstSymbolsMax),
      spaceIm: new Float32Array(burstSymbolsMax),
    },
    weights: new Float32Array(burstSymbolsMax).fill(1),
  }
  straighten(burst, straightened.run)
  const amplitude = meanAmplitude(burst)
  const { markStep, spaceStep } = parameters
  decideJointly(
    [
      {
        ...{ ...straightened, first: 0, inverted: false, variance: 1, markStep, spaceStep },
        ...{ markAmplitude: amplitude, spaceAmplitude: amplitude },
      },
    ],
    count,
    tones,
  )
}

/** Takes the drift out of the correlations. */
function straighten({ count, run, driftRe, driftIm }: Burst, into: FloatRun): void {
  let [re, im] = [1, 0]
  for (let k = 0; k < count; k++) {
    into.markRe[k] = run.markRe[k]! * re + run.markIm[k]! * im
    into.markIm[k] = run.markIm[k]! * re - run.markRe[k]! * im
    into.spaceRe[k] = run.spaceRe[k]! * re + run.spaceIm[k]! * im
    into.spaceIm[k] = run.spaceIm[k]! * re - run.spaceRe[k]! * im
    const turnedRe = re * driftRe[k]! - im * driftIm[k]!
    im = re * driftIm[k]! + im * driftRe[k]!
    re = turnedRe
  }
}

/** Of the tones decided on, free of noise: neighbours have the same phase. */
function meanAmplitude({ count, residualRe, residualIm }: Burst): number {
  let re = 0
  let im = 0
  for (let k = 1; k < count; k++) {
    re += residualRe[k]! * residualRe[k - 1]! + residualIm[k]! * residualIm[k - 1]!
    im += residualIm[k]! * residualRe[k - 1]! - residualRe[k]! * residualIm[k - 1]!
  }
  return Math.sqrt(Math.hypot(re, im) / count)
}
