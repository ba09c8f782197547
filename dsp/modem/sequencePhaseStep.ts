// How far the phase turns in a symbol, and how strong each tone is: estimated feed-forward for the sequence detector.
//
// Model: the correlation of a symbol's right tone has the phase of the signal at the symbol's start, which moves on by
// 2 pi f T during the symbol (mark: one turn, space: 11/6 turns). What is left of C[k+1] conj(C[k]) after that nominal turn
// shows the tone offset, at 0.30 degrees a Hz, and its real part the squared amplitude, free of noise. The tones are decided
// on first by blocks of three symbols (noncoherent, with the offset found from single-symbol decisions).
// Each product is divided by the local power, so that loud hiss beside a burst weighs no more than the burst, and of all
// windows that contain a block the most coherent one is taken.
import { type SymbolStream, symbolCapacity, symbolMask } from './sequenceSymbols.js'
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

/** Sums of one block: the products of mark-mark, space-space and mixed pairs; then squared amplitudes and pair counts. */
const sumsPerBlock = 10
const markRe = 0
const markIm = 1
const spaceRe = 2
const spaceIm = 3
const mixedRe = 4
const mixedIm = 5
const markPower = 6
const markCount = 7
const spacePower = 8
const spaceCount = 9

export function createPhaseStepEstimator(symbols: SymbolStream): PhaseStepEstimator {
  const { run } = symbols
  const power = new Float64Array(symbolCapacity)
  const coarse = new Float64Array(blockCapacity * sumsPerBlock)
  const fine = new Float64Array(blockCapacity * sumsPerBlock)
  const window = new Float64Array(sumsPerBlock)
  const tones = new Uint8Array(symbolCapacity)
  let coarseBlocks = 0
  let fineBlocks = 0

  /** Adds the pair (k - 1, k) to a block's sums. */
  const addPair = (sums: Float64Array, base: number, k: number, offset: number): void => {
    const at = k & symbolMask
    const before = (k - 1) & symbolMask
    const first = tones[before]!
    const second = tones[at]!
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
    const weight = 2 / (localPower(power, k - 1) + localPower(power, k) + 1e-18)
    const kind = first === second ? (first ? markRe : spaceRe) : mixedRe
    sums[base + kind]! += re * weight
    sums[base + kind + 1]! += im * weight
    if (first !== second) return
    const along = re * Math.cos(offset) + im * Math.sin(offset)
    sums[base + (first ? markPower : spacePower)]! += along
    sums[base + (first ? markCount : spaceCount)]! += 1
  }

  const addCoarse = (block: number): void => {
    const base = (block % blockCapacity) * sumsPerBlock
    coarse.fill(0, base, base + sumsPerBlock)
    const first = block * blockSymbols
    for (let k = first; k < first + blockSymbols + powerReach; k++)
      power[k & symbolMask] = Math.max(markAt(symbols, k), spaceAt(symbols, k))
    for (let k = first; k < first + blockSymbols; k++) {
      tones[k & symbolMask] = markAt(symbols, k) > spaceAt(symbols, k) ? 1 : 0
      if (k > 0) addPair(coarse, base, k, 0)
    }
  }

  const addFine = (block: number): void => {
    bestWindow(coarse, block, coarseWindow, block + coarseAhead, window)
    const offset = commonOffset(window)
    const base = (block % blockCapacity) * sumsPerBlock
    fine.fill(0, base, base + sumsPerBlock)
    const first = block * blockSymbols
    for (let k = first; k < first + blockSymbols; k++) {
      if (k === 0) continue
      tones[k & symbolMask] = middleOfThree(run, k, offset)
      addPair(fine, base, k, offset)
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
      readSteps(window, into)
      readAmplitudes(window, into)
    },
  }
}

const turnRe = Math.cos(spaceTurn)
const turnIm = -Math.sin(spaceTurn)

/** Local power is the mean over this many symbols on each side. */
const powerReach = 4

function localPower(power: Float64Array, k: number): number {
  let sum = 0
  for (let at = k - powerReach; at <= k + powerReach; at++) sum += power[at & symbolMask]!
  return sum / (2 * powerReach + 1)
}

function markAt({ run }: SymbolStream, k: number): number {
  const at = k & symbolMask
  return run.markRe[at]! ** 2 + run.markIm[at]! ** 2
}

function spaceAt({ run }: SymbolStream, k: number): number {
  const at = k & symbolMask
  return run.spaceRe[at]! ** 2 + run.spaceIm[at]! ** 2
}

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
    if (first > block) break
    let re = 0
    let im = 0
    for (let b = first; b < first + length; b++) {
      const base = (b % blockCapacity) * sumsPerBlock
      re += sums[base + markRe]! + sums[base + spaceRe]! + sums[base + mixedRe]!
      im += sums[base + markIm]! + sums[base + spaceIm]! + sums[base + mixedIm]!
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

function commonOffset(sums: Float64Array): number {
  return Math.atan2(
    sums[markIm]! + sums[spaceIm]! + sums[mixedIm]!,
    sums[markRe]! + sums[spaceRe]! + sums[mixedRe]!,
  )
}

/** Mean of a block's products along the offset that its window found. */
function presence(sums: Float64Array, block: number, offset: number): number {
  const base = (block % blockCapacity) * sumsPerBlock
  const re = sums[base + markRe]! + sums[base + spaceRe]! + sums[base + mixedRe]!
  const im = sums[base + markIm]! + sums[base + spaceIm]! + sums[base + mixedIm]!
  return (re * Math.cos(offset) + im * Math.sin(offset)) / blockSymbols
}

/** Tone (1 mark) of symbol k out of the best three-symbol sequence k - 1, k, k + 1, with the phase step known. */
function middleOfThree(run: SymbolRun, k: number, offset: number): number {
  const p = (k - 1) & symbolMask
  const q = k & symbolMask
  const r = (k + 1) & symbolMask
  const markCos = Math.cos(offset)
  const markSin = -Math.sin(offset)
  const spaceCos = Math.cos(offset + spaceTurn)
  const spaceSin = -Math.sin(offset + spaceTurn)
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

/** Pairs of equal tones that a step of one tone alone must rest on. */
const pairsMin = 12
const pairCoherenceMin = 0.35

/** One step for both tones, or one for each when they differ by more than chance: four standard deviations and 0.1. */
function readSteps(sums: Float64Array, into: BlockEstimate): void {
  const common = commonOffset(sums)
  into.markStep = common
  into.spaceStep = common
  const marks = sums[markCount]!
  const spaces = sums[spaceCount]!
  if (marks < pairsMin || spaces < pairsMin) return
  const cos = Math.cos(common)
  const sin = Math.sin(common)
  const mr = sums[markRe]! * cos + sums[markIm]! * sin
  const mi = sums[markIm]! * cos - sums[markRe]! * sin
  const sr = sums[spaceRe]! * cos + sums[spaceIm]! * sin
  const si = sums[spaceIm]! * cos - sums[spaceRe]! * sin
  const markLength = Math.sqrt(mr * mr + mi * mi) / marks
  const spaceLength = Math.sqrt(sr * sr + si * si) / spaces
  if (markLength < pairCoherenceMin || spaceLength < pairCoherenceMin) return
  const mark = Math.atan2(mi, mr)
  const space = Math.atan2(si, sr)
  const variance = phaseVariance(markLength, marks) + phaseVariance(spaceLength, spaces)
  if (Math.abs(mark - space) < 4 * Math.sqrt(variance) + 0.1) return
  into.markStep = common + mark
  into.spaceStep = common + space
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

function readAmplitudes(sums: Float64Array, into: BlockEstimate): void {
  const mark = Math.max(0, sums[markPower]!) / (sums[markCount]! + 0.1)
  const space = Math.max(0, sums[spacePower]!) / (sums[spaceCount]! + 0.1)
  const mean = Math.sqrt((mark + space) / 2) + 1e-12
  const ratioDb = 10 * Math.log10((space + 1e-18) / (mark + 1e-18))
  const size = Math.min(imbalanceMaxDb, Math.max(0, Math.abs(ratioDb) - deadBandDb))
  const half = 10 ** ((Math.sign(ratioDb) * size) / 40)
  into.markAmplitude = mean / half
  into.spaceAmplitude = mean * half
}
