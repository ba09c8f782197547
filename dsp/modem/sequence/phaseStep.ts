// How far the phase turns in a symbol, and how strong each tone is: estimated feed-forward for the sequence detector.
//
// Model: the correlation of a symbol's right tone has the phase of the signal at the symbol's start, which moves on by
// 2 pi f T during the symbol (mark: one turn, space: 11/6 turns). What is left of C[k+1] conj(C[k]) after that nominal turn
// shows the tone offset, at 0.30 degrees a Hz, and its real part the squared amplitude, free of noise. The tones are decided
// on first by blocks of three symbols (noncoherent, with the offset found from single-symbol decisions).
// Each product is divided by the local power, so that loud hiss beside a burst weighs no more than the burst, and of all
// windows that contain a block the most coherent one is taken.
import { addPoint, emptyLine, fitLine } from '../../numbers/lineFit.js'
import { type SymbolStream, symbolMask } from './symbols.js'
import type { SymbolRun } from './toneCorrelations.js'

/** Symbols that share one estimate. */
export const blockSymbols = 32

/** Phase that a space symbol adds at nominal tone and rate: 11/6 turns. */
export const spaceTurn = (2 * Math.PI * 11) / 6

/** What holds for one block of symbols. */
export interface BlockEstimate {
  /** phase that a mark symbol adds beyond its nominal turn, radians */
  markStep: number
  /** the same for a space symbol, beyond spaceTurn */
  spaceStep: number
  /** magnitude of a right correlation */
  markAmplitude: number
  spaceAmplitude: number
  /** length of the mean of the normalised products, 0 to 1; noise stays below 0.42 */
  coherence: number
  /** the same of this block's own products alone: where a signal starts and ends */
  presence: number
}

export interface PhaseStepEstimator {
  /** Takes in what the symbol stream has gained. */
  advance(): void
  /** blocks whose estimates can be asked for; each only once, in order */
  readonly blocks: number
  estimate(block: number, into: BlockEstimate): void
}

/** Window of the first estimate, and of the final one, in blocks. */
const coarseWindow = 4
const fineWindow = 8
/** Blocks ahead that the first estimate waits for. */
const coarseAhead = 2

const blockCapacity = 32
/** Symbols of those blocks: what is worked out for a symbol is read until its block has been estimated. */
const nearCapacity = blockCapacity * blockSymbols
const nearMask = nearCapacity - 1

/** A line quality that signals exceed by far (0.16 at 5 dB Eb/N0), and three quarters of noise do not reach. */
const noiseLine = 0.06
const lineStride = 8

/**
 * Sums over the pairs of a block, for each kind of pair (mark and mark, mark and space in either order, space and space):
 * real and imaginary part of the normalised products, products of the amplitudes, and how many pairs.
 */
const kinds = 3
const sumsPerKind = 4
const sumsPerBlock = kinds * sumsPerKind
/** Share of space steps in what a pair of each kind shows, less a half: steps and levels are fitted as straight lines over it. */
const kindPosition = [-0.5, 0, 0.5] as const

/** @param spreadBy the space tone is expected so many times 200 Hz higher */
export function createPhaseStepEstimator(symbols: SymbolStream, spreadBy = 0): PhaseStepEstimator {
  const { spread, turnRe, turnIm } = expectedTurn(spreadBy)
  const { run } = symbols
  const power = new Float64Array(nearCapacity)
  /** sum of the powers around each symbol */
  const level = new Float64Array(nearCapacity)
  const coarse = new Float64Array(blockCapacity * sumsPerBlock)
  const fine = new Float64Array(blockCapacity * sumsPerBlock)
  const window = new Float64Array(sumsPerBlock)
  const tones = new Uint8Array(nearCapacity)
  const steps: Steps = { mark: 0, mixed: 0, space: 0 }
  // Of the steps that amplitudes are read along, by kind.
  const cosines = new Float64Array(kinds)
  const sines = new Float64Array(kinds)
  let [coarseBlocks, fineBlocks] = [0, 0]

  /** Adds the pair (k - 1, k) to a block's sums. */
  const addPair = (sums: Float64Array, base: number, k: number): void => {
    const at = k & symbolMask
    const before = (k - 1) & symbolMask
    const first = tones[(k - 1) & nearMask]!
    const second = tones[k & nearMask]!
    const ar = first ? run.markRe[before]! : run.spaceRe[before]!
    const ai = first ? run.markIm[before]! : run.spaceIm[before]!
    const br = second ? run.markRe[at]! : run.spaceRe[at]!
    const bi = second ? run.markIm[at]! : run.spaceIm[at]!
    let re = br * ar + bi * ai
    let im = bi * ar - br * ai
    if (!first) {
      const turned = re * turnRe - im * turnIm
      im = re * turnIm + im * turnRe
      re = turned
    }
    const weight = (2 * levelSymbols) / (level[(k - 1) & nearMask]! + level[k & nearMask]! + 1e-18)
    const to = base + (2 - first - second) * sumsPerKind
    sums[to]! += re * weight
    sums[to + 1]! += im * weight
    sums[to + 2]! += re * cosines[2 - first - second]! + im * sines[2 - first - second]!
    sums[to + 3]! += 1
  }

  const addCoarse = (block: number): void => {
    const base = (block % blockCapacity) * sumsPerBlock
    coarse.fill(0, base, base + sumsPerBlock)
    const first = block * blockSymbols
    const powersFrom = first === 0 ? 0 : first + powerReach
    for (let k = powersFrom; k < first + blockSymbols + powerReach; k++) {
      const at = k & symbolMask
      const mark = run.markRe[at]! * run.markRe[at]! + run.markIm[at]! * run.markIm[at]!
      const space = run.spaceRe[at]! * run.spaceRe[at]! + run.spaceIm[at]! * run.spaceIm[at]!
      tones[k & nearMask] = mark > space ? 1 : 0
      power[k & nearMask] = Math.max(mark, space)
    }
    for (let k = first; k < first + blockSymbols; k++) {
      let around = 0
      for (let at = k - powerReach; at <= k + powerReach; at++) around += power[at & nearMask]!
      level[k & nearMask] = around
      if (k > 0) addPair(coarse, base, k)
    }
  }

  /** Only noise around a block: there is no line at the symbol rate. */
  const isNoise = (block: number): boolean => {
    const end = Math.min(symbols.count, (block + 2) * blockSymbols)
    for (let k = Math.max(0, (block - 1) * blockSymbols); k < end; k += lineStride)
      if (symbols.lineQuality[k & symbolMask]! >= noiseLine) return false
    return true
  }

  const addFine = (block: number): void => {
    const base = (block % blockCapacity) * sumsPerBlock
    fine.fill(0, base, base + sumsPerBlock)
    if (isNoise(block)) return
    bestWindow(coarse, block, coarseWindow, block + coarseAhead, window)
    readSteps(window, steps)
    kindSteps(steps).forEach((step, kind) => {
      cosines[kind] = Math.cos(step)
      sines[kind] = Math.sin(step)
    })
    const turns = turnsBack(steps, spread)
    const first = block * blockSymbols
    for (let k = first; k < first + blockSymbols; k++) {
      if (k === 0) continue
      tones[k & nearMask] = middleOfThree(run, k, turns)
      addPair(fine, base, k)
    }
  }

  return {
    advance() {
      while (symbols.count >= (coarseBlocks + 1) * blockSymbols + powerReach + 1)
        addCoarse(coarseBlocks++)
      while (coarseBlocks > fineBlocks + coarseAhead) addFine(fineBlocks++)
    },
    get blocks() {
      return Math.max(0, fineBlocks - fineWindow + 1)
    },
    estimate(block, into) {
      const coherence = bestWindow(fine, block, fineWindow, block + fineWindow - 1, window)
      into.coherence = coherence
      into.presence = presence(fine, block, commonOffset(window))
      readSteps(window, steps)
      into.markStep = steps.mark
      into.spaceStep = steps.space + spread
      readAmplitudes(window, into)
    },
  }
}

/** What a space symbol is expected to add beyond spaceTurn, and the pointer that takes all of its turn back. */
function expectedTurn(spreadSteps: number): { spread: number; turnRe: number; turnIm: number } {
  const spread = (spreadSteps * Math.PI) / 3
  return { spread, turnRe: Math.cos(spaceTurn + spread), turnIm: -Math.sin(spaceTurn + spread) }
}

/** Local power is the mean over this many symbols on each side. */
const powerReach = 4
const levelSymbols = 2 * powerReach + 1

/** Sums over the most coherent window of blocks that contains one; returns its coherence. */
function bestWindow(
  sums: Float64Array,
  block: number,
  length: number,
  last: number,
  into: Float64Array,
): number {
  let best = -1
  let bestFirst = 0
  for (let first = Math.max(0, block - length + 1); first + length - 1 <= last; first++) {
    let re = 0
    let im = 0
    for (let b = first; b < first + length; b++) {
      const base = (b % blockCapacity) * sumsPerBlock
      re += overKinds(sums, base)
      im += overKinds(sums, base + 1)
    }
    const size = re * re + im * im
    if (size > best) {
      best = size
      bestFirst = first
    }
  }
  into.fill(0)
  for (let b = bestFirst; b < bestFirst + length; b++) {
    const base = (b % blockCapacity) * sumsPerBlock
    for (let at = 0; at < sumsPerBlock; at++) into[at]! += sums[base + at]!
  }
  return Math.sqrt(Math.max(0, best)) / (length * blockSymbols)
}

function overKinds(sums: Float64Array, at: number): number {
  return sums[at]! + sums[at + sumsPerKind]! + sums[at + 2 * sumsPerKind]!
}

function commonOffset(sums: Float64Array): number {
  return Math.atan2(overKinds(sums, 1), overKinds(sums, 0))
}

/** Mean of a block's products along the offset that its window found. */
function presence(sums: Float64Array, block: number, offset: number): number {
  const base = (block % blockCapacity) * sumsPerBlock
  const re = overKinds(sums, base)
  const im = overKinds(sums, base + 1)
  return (re * Math.cos(offset) + im * Math.sin(offset)) / blockSymbols
}

/** What takes a mark's or a space's turn back out of the symbols after it. */
interface Turns {
  readonly markCos: number
  readonly markSin: number
  readonly spaceCos: number
  readonly spaceSin: number
}

const turnsBack = ({ mark, space }: Steps, spread: number): Turns => ({
  markCos: Math.cos(mark),
  markSin: -Math.sin(mark),
  spaceCos: Math.cos(space + spaceTurn + spread),
  spaceSin: -Math.sin(space + spaceTurn + spread),
})

/** Tone (1 mark) of symbol k out of the best three-symbol sequence k - 1, k, k + 1, with the phase step known. */
function middleOfThree(run: SymbolRun, k: number, turns: Turns): number {
  const p = (k - 1) & symbolMask
  const q = k & symbolMask
  const r = (k + 1) & symbolMask
  const { markCos, markSin, spaceCos, spaceSin } = turns
  let best = -1
  let tone = 0
  for (let first = 0; first < 2; first++) {
    const xr = first ? run.markRe[p]! : run.spaceRe[p]!
    const xi = first ? run.markIm[p]! : run.spaceIm[p]!
    const ur = first ? markCos : spaceCos
    const ui = first ? markSin : spaceSin
    for (let second = 0; second < 2; second++) {
      const yr = second ? run.markRe[q]! : run.spaceRe[q]!
      const yi = second ? run.markIm[q]! : run.spaceIm[q]!
      const sr = xr + yr * ur - yi * ui
      const si = xi + yr * ui + yi * ur
      const tr = second ? markCos : spaceCos
      const ti = second ? markSin : spaceSin
      const vr = ur * tr - ui * ti
      const vi = ur * ti + ui * tr
      for (let third = 0; third < 2; third++) {
        const zr = third ? run.markRe[r]! : run.spaceRe[r]!
        const zi = third ? run.markIm[r]! : run.spaceIm[r]!
        const re = sr + zr * vr - zi * vi
        const im = si + zr * vi + zi * vr
        const size = re * re + im * im
        if (size > best) {
          best = size
          tone = second
        }
      }
    }
  }
  return tone
}

/** Phase steps beyond the nominal ones, radians; mixed is their mean. */
interface Steps {
  mark: number
  mixed: number
  space: number
}

/** By kind of pair. */
const kindSteps = ({ mark, mixed, space }: Steps): number[] => [mark, mixed, space]

/** Kinds whose mean product is shorter than this say nothing. */
const pairCoherenceMin = 0.2

/** One step for each tone; their difference is held back as far as it may be chance, wholly below two standard deviations. */
function readSteps(sums: Float64Array, into: Steps): void {
  const common = commonOffset(sums)
  const cos = Math.cos(common)
  const sin = Math.sin(common)
  const line = emptyLine()
  for (let kind = 0; kind < kinds; kind++) {
    const at = kind * sumsPerKind
    const re = sums[at]! * cos + sums[at + 1]! * sin
    const im = sums[at + 1]! * cos - sums[at]! * sin
    const count = sums[at + 3]!
    const length = count > 0 ? Math.sqrt(re * re + im * im) / count : 0
    if (length < pairCoherenceMin) continue
    addPoint(line, kindPosition[kind]!, Math.atan2(im, re), 1 / phaseVariance(length, count))
  }
  const { slope, offset, slopeDeviation } = fitLine(line)
  const sure = Math.max(0, 1 - (4 * slopeDeviation ** 2) / (slope * slope + 1e-12))
  into.mixed = common + sure * offset
  into.mark = into.mixed - (sure * slope) / 2
  into.space = into.mixed + (sure * slope) / 2
}

/** Variance of the angle of a mean of unit vectors, from the mean's length (directional statistics). */
function phaseVariance(length: number, count: number): number {
  const square = length * length
  return Math.max(0.02, 1 - square) / (2 * square * count)
}

/** An imbalance up to this is left alone: its estimate is not better than a guess at low signal-to-noise ratios. */
const deadBandDb = 2.5
/** Beyond this the weaker tone is taken for no weaker. */
const imbalanceMaxDb = 14

/** Levels of the kinds in dB lie on a straight line too, since a mixed product has the mean of both levels. */
function readAmplitudes(sums: Float64Array, into: BlockEstimate): void {
  const line = emptyLine()
  for (let kind = 0; kind < kinds; kind++) {
    const at = kind * sumsPerKind
    const count = sums[at + 3]!
    // 0 of a kind of which there are no pairs.
    const power = sums[at + 2]! / Math.max(1, count)
    if (power > 0) addPoint(line, kindPosition[kind]!, 10 * Math.log10(power), count)
  }
  const { slope, offset } = fitLine(line)
  const size = Math.min(imbalanceMaxDb, Math.max(0, Math.abs(slope) - deadBandDb))
  const half = 10 ** ((Math.sign(slope) * size) / 40)
  const mean = 10 ** (offset / 20)
  into.markAmplitude = mean / half
  into.spaceAmplitude = mean * half
}
