// The phase reference of a segment: a straight line (tone offsets of a sender stand still for the length of a frame) plus a
// slow residual, both taken from the symbols behind and ahead.
//
// A single wrong tone among those decided on turns the residuals by the slip angle, for good. A reference that followed such slips
// would make them look right; so the line is laid through block phases after slips have been taken out, and the trellis, which
// sees the straight reference, finds the path without the slip.
import { addPoint, emptyLine, fitLine } from '../../numbers/lineFit.js'
import { type Burst, slipAngle } from './model.js'

/** Symbols of one block phase: at 5 dB its standard deviation is 5 degrees, far from the 30 that would mistake a slip. */
const blockSymbols = 24
/** How much of the smoothed residual the next symbol inherits: about 33 symbols on each side. */
const memory = 0.97
/** A slip must fit better than no slip by this angle. */
const slipPenalty = 0.12
const turn = 2 * Math.PI

/** Fills the burst's reference from its residuals. */
export function fitReference(burst: Burst): void {
  const { count, residualRe, residualIm, referenceRe, referenceIm, reliability } = burst
  const blocks = Math.max(1, Math.floor(count / blockSymbols))
  const slip = slipAngle(burst.parameters)
  const phases = new Float64Array(blocks)
  const sizes = new Float64Array(blocks)
  const slips = new Int8Array(blocks)
  readBlocks(burst, phases, sizes, slips, slip)
  const line = layLine(phases, sizes)
  const lineAt = (k: number): number => line.offset + line.slope * (k - line.middle)

  // Without line and slips: what is left is slow, and is smoothed from both sides, the symbol itself left out.
  const levelRe = new Float64Array(count)
  const levelIm = new Float64Array(count)
  for (let k = 0; k < count; k++) {
    const block = Math.min(blocks - 1, Math.floor(k / blockSymbols))
    const angle = lineAt(k) + slips[block]! * slip
    const cos = Math.cos(angle) * reliability[k]!
    const sin = Math.sin(angle) * reliability[k]!
    levelRe[k] = residualRe[k]! * cos + residualIm[k]! * sin
    levelIm[k] = residualIm[k]! * cos - residualRe[k]! * sin
  }
  let re = 0
  let im = 0
  for (let k = 0; k < count; k++) {
    referenceRe[k] = re
    referenceIm[k] = im
    // The neighbour is left out too: an error swaps two neighbouring tones.
    if (k > 0) {
      re = re * memory + levelRe[k - 1]!
      im = im * memory + levelIm[k - 1]!
    }
  }
  re = 0
  im = 0
  for (let k = count - 1; k >= 0; k--) {
    const x = referenceRe[k]! + re
    const y = referenceIm[k]! + im
    if (k < count - 1) {
      re = re * memory + levelRe[k + 1]!
      im = im * memory + levelIm[k + 1]!
    }
    const size = Math.sqrt(x * x + y * y) + 1e-20
    const cos = Math.cos(lineAt(k)) / size
    const sin = Math.sin(lineAt(k)) / size
    referenceRe[k] = x * cos - y * sin
    referenceIm[k] = x * sin + y * cos
  }
}

/** Unwrapped phase of each block with slips taken out, its reliability, and the slips so far. */
function readBlocks(
  burst: Burst,
  phases: Float64Array,
  sizes: Float64Array,
  slips: Int8Array,
  slip: number,
): void {
  const { count, residualRe, residualIm, reliability } = burst
  let slipsSoFar = 0
  let last = 0
  let slope = 0
  for (let block = 0; block < phases.length; block++) {
    let re = 0
    let im = 0
    const end = Math.min(count, (block + 1) * blockSymbols)
    for (let k = block * blockSymbols; k < end; k++) {
      re += residualRe[k]! * reliability[k]!
      im += residualIm[k]! * reliability[k]!
    }
    sizes[block] = Math.sqrt(re * re + im * im) + 1e-12
    const phase = Math.atan2(im, re)
    if (block === 0) {
      phases[0] = phase
      last = phase
      continue
    }
    const expected = last + slope
    let best = Number.POSITIVE_INFINITY
    let bestSlips = slipsSoFar
    for (let change = -1; change <= 1; change++) {
      const straight = phase - (slipsSoFar + change) * slip
      const near = straight - turn * Math.round((straight - expected) / turn)
      const miss = Math.abs(near - expected) + (change === 0 ? 0 : slipPenalty)
      if (miss < best) {
        best = miss
        bestSlips = slipsSoFar + change
        phases[block] = near
      }
    }
    slipsSoFar = bestSlips
    slips[block] = slipsSoFar
    const error = phases[block]! - expected
    last = expected + 0.6 * error
    slope += 0.05 * error
  }
}

interface Line {
  /** symbol number of the weighted middle */
  readonly middle: number
  /** phase there */
  readonly offset: number
  /** radians a symbol */
  readonly slope: number
}

/** Weighted least squares. */
function layLine(phases: Float64Array, sizes: Float64Array): Line {
  const sums = emptyLine()
  for (let block = 0; block < phases.length; block++)
    addPoint(sums, block, phases[block]!, sizes[block]!)
  return {
    middle: (sums.x / sums.weight) * blockSymbols + (blockSymbols - 1) / 2,
    offset: sums.y / sums.weight,
    slope: phases.length > 2 ? fitLine(sums).slope / blockSymbols : 0,
  }
}
