// Signal and noise power of a frame whose symbols, timing and tones are known. In blocks of a few symbols, each tone's two
// quadratures are fitted to what was heard (linear least squares); what the fit leaves is noise.
import { bandPassHalved, bandPassNoiseGain, bandPassReach } from '../frontEnd/bandPass.js'
import { workingRateHz } from '../frontEnd/frontEnd.js'
import type { SymbolTiming, ToneFrequencies } from './symbolCorrelation.js'

export interface SignalFit {
  /** power of a steady mark tone, full scale 1 */
  readonly markPower: number
  readonly spacePower: number
  /** mean power of the signal, noise left out */
  readonly signalPower: number
  /** one-sided noise density between 800 and 2600 Hz, per Hz */
  readonly noiseDensity: number
}

/** Long enough to hold both tones several times, short enough for the phase of a fading signal to stand still. */
const symbolsPerBlock = 24
/** Amplitudes fitted in each block: two quadratures of two tones. */
const parameterCount = 4
/** The band-pass smears what stands around the frame into it, so far. */
const edgeSamples = bandPassReach

/** Large arrays of a fit; they may be longer than needed. */
export interface FitMemory {
  readonly reference: Reference
  /** the audio, and later what the fit leaves of it; zeros stand around it */
  readonly residual: Float64Array
  /** the same in the band, at half the rate */
  readonly inBand: Float64Array
}

/** @param former taken again if it is large enough */
export function fitMemoryFor(
  sampleCount: number,
  symbolCount: number,
  former?: FitMemory,
): FitMemory {
  if (
    former !== undefined &&
    former.residual.length >= sampleCount + 2 * bandPassReach &&
    former.reference.firstSample.length >= symbolCount
  )
    return former
  // A symbol lasts ten samples or so, and shares one with each neighbour.
  const entriesMax = sampleCount + 3 * symbolCount
  return {
    reference: {
      cosine: new Float64Array(entriesMax),
      sine: new Float64Array(entriesMax),
      firstSample: new Int32Array(symbolCount),
      firstEntry: new Int32Array(symbolCount + 1),
    },
    residual: new Float64Array(sampleCount + 2 * bandPassReach),
    inBand: new Float64Array(Math.ceil(sampleCount / 2)),
  }
}

/**
 * @param wide audio of the frame, at the working rate
 * @param memory from fitMemoryFor
 */
export function fitSignal(
  wide: Float32Array,
  levels: Uint8Array,
  timing: SymbolTiming,
  tones: ToneFrequencies,
  memory: FitMemory,
): SignalFit {
  const { reference } = memory
  modulateInto(reference, wide.length, levels, timing, tones)
  const padded = memory.residual.subarray(0, wide.length + 2 * bandPassReach).fill(0)
  const residual = padded.subarray(bandPassReach)
  residual.set(wide)
  const power = [0, 0]
  const samplesOf = [0, 0]
  let blocks = 0
  for (let first = 0; first < levels.length; first += symbolsPerBlock) {
    const end = Math.min(levels.length, first + symbolsPerBlock)
    const amplitudes = takeOut(residual, reference, levels, first, end)
    let marks = 0
    for (let symbol = first; symbol < end; symbol++) marks += levels[symbol]!
    const samples = [end - first - marks, marks].map((count) => count * timing.samplesPerSymbol)
    for (const level of [0, 1] as const) {
      const [a, b] = [amplitudes[2 * level]!, amplitudes[2 * level + 1]!]
      power[level]! += (samples[level]! * (a * a + b * b)) / 2
      samplesOf[level]! += samples[level]!
    }
    blocks++
  }
  const inBand = memory.inBand.subarray(0, Math.ceil(wide.length / 2))
  bandPassHalved(padded, inBand)
  const variance = noiseVariance(inBand, timing, levels.length, blocks)
  // Noise adds to the square of each fitted amplitude, 2 variance / samples a quadrature.
  const unbiased = ([0, 1] as const).map((level) =>
    Math.max(1e-15, (power[level]! - 2 * variance * blocks) / Math.max(1, samplesOf[level]!)),
  )
  const total = samplesOf[0]! + samplesOf[1]!
  return {
    spacePower: unbiased[0]!,
    markPower: unbiased[1]!,
    signalPower: (unbiased[0]! * samplesOf[0]! + unbiased[1]! * samplesOf[1]!) / total,
    noiseDensity: variance / (workingRateHz / 2),
  }
}

/** Of white noise at the working rate that would leave as much in the band, at half the rate. */
function noiseVariance(
  left: Float64Array,
  timing: SymbolTiming,
  symbolCount: number,
  blocks: number,
): number {
  const end = timing.startSample + symbolCount * timing.samplesPerSymbol
  const from = Math.max(0, Math.ceil((timing.startSample + edgeSamples) / 2))
  const to = Math.min(left.length, Math.floor((end - edgeSamples) / 2))
  let sum = 0
  for (let index = from; index < to; index++) sum += left[index]! * left[index]!
  // At half the rate each sample counts twice.
  const freedom = Math.max(1, (to - from) * bandPassNoiseGain() - (blocks * parameterCount) / 2)
  return Math.max(sum / freedom, 1e-15)
}

/**
 * A phase-continuous signal of amplitude 1 with the frame's symbols, in two quadratures, symbol by symbol. A sample on the
 * border between two symbols belongs to each in part, and so stands there twice.
 */
interface Reference {
  readonly cosine: Float64Array
  readonly sine: Float64Array
  /** sample of the audio at which each symbol begins */
  readonly firstSample: Int32Array
  /** and where it begins in cosine and sine; one longer than the symbols */
  readonly firstEntry: Int32Array
}

function modulateInto(
  { cosine, sine, firstSample, firstEntry }: Reference,
  length: number,
  levels: Uint8Array,
  timing: SymbolTiming,
  tones: ToneFrequencies,
): void {
  const steps = [tones.spaceHz, tones.markHz].map(
    (toneHz) => (2 * Math.PI * toneHz) / workingRateHz,
  )
  const [cosines, sines] = [steps.map(Math.cos), steps.map(Math.sin)]
  let phase = 0
  let entry = 0
  for (let symbol = 0; symbol < levels.length; symbol++) {
    const level = levels[symbol]!
    const start = timing.startSample + symbol * timing.samplesPerSymbol
    const end = start + timing.samplesPerSymbol
    const first = Math.max(0, Math.ceil(start - 0.5))
    const last = Math.min(length - 1, Math.floor(end + 0.5))
    const stepRe = cosines[level]!
    const stepIm = sines[level]!
    let re = Math.cos(phase + steps[level]! * (first - start))
    let im = Math.sin(phase + steps[level]! * (first - start))
    firstSample[symbol] = first
    for (let index = first; index <= last; index++) {
      const share = Math.min(index + 0.5, end) - Math.max(index - 0.5, start)
      cosine[entry] = share * re
      sine[entry] = share * im
      entry++
      const turned = re * stepRe - im * stepIm
      im = re * stepIm + im * stepRe
      re = turned
    }
    firstEntry[symbol + 1] = entry
    phase = (phase + steps[level]! * timing.samplesPerSymbol) % (2 * Math.PI)
  }
}

/**
 * Fits both tones to a block of symbols and takes them out of the samples.
 * @returns amplitudes: space cosine, space sine, mark cosine, mark sine
 */
function takeOut(
  samples: Float64Array,
  reference: Reference,
  levels: Uint8Array,
  firstSymbol: number,
  endSymbol: number,
): Float64Array {
  const { cosine, sine, firstSample, firstEntry } = reference
  const rows = Array.from({ length: parameterCount }, () => new Float64Array(parameterCount + 1))
  for (let symbol = firstSymbol; symbol < endSymbol; symbol++) {
    const own = 2 * levels[symbol]!
    const shift = firstSample[symbol]! - firstEntry[symbol]!
    let cc = 0
    let ss = 0
    let cs = 0
    let cx = 0
    let sx = 0
    for (let entry = firstEntry[symbol]!; entry < firstEntry[symbol + 1]!; entry++) {
      const x = samples[entry + shift]!
      const c = cosine[entry]!
      const s = sine[entry]!
      cc += c * c
      ss += s * s
      cs += c * s
      cx += c * x
      sx += s * x
    }
    add(rows, own, own, cc)
    add(rows, own + 1, own + 1, ss)
    add(rows, own, own + 1, cs)
    rows[own]![parameterCount]! += cx
    rows[own + 1]![parameterCount]! += sx
    if (symbol > firstSymbol) addBorder(rows, reference, levels, symbol)
  }
  const amplitudes = solve(rows)
  for (let symbol = firstSymbol; symbol < endSymbol; symbol++) {
    const a = amplitudes[2 * levels[symbol]!]!
    const b = amplitudes[2 * levels[symbol]! + 1]!
    const shift = firstSample[symbol]! - firstEntry[symbol]!
    for (let entry = firstEntry[symbol]!; entry < firstEntry[symbol + 1]!; entry++)
      samples[entry + shift]! -= a * cosine[entry]! + b * sine[entry]!
  }
  return amplitudes
}

/** Normal equations, filled on both sides of their diagonal. */
function add(rows: readonly Float64Array[], row: number, column: number, value: number): void {
  rows[row]![column]! += value
  if (row !== column) rows[column]![row]! += value
}

/** What a symbol has in common with the one before it: the sample on their border, if they share one. */
function addBorder(
  rows: readonly Float64Array[],
  { cosine, sine, firstSample, firstEntry }: Reference,
  levels: Uint8Array,
  symbol: number,
): void {
  const here = firstEntry[symbol]!
  const lastBefore = firstSample[symbol - 1]! + here - firstEntry[symbol - 1]! - 1
  if (lastBefore !== firstSample[symbol]) return
  const own = 2 * levels[symbol]!
  const other = 2 * levels[symbol - 1]!
  const c = cosine[here]!
  const s = sine[here]!
  const d = cosine[here - 1]!
  const t = sine[here - 1]!
  // Twice on the diagonal: the square of a sum holds its mixed product twice.
  add(rows, own, other, own === other ? 2 * c * d : c * d)
  add(rows, own + 1, other + 1, own === other ? 2 * s * t : s * t)
  add(rows, own, other + 1, c * t)
  add(rows, own + 1, other, s * d)
}

/** Gaussian elimination; the matrix is symmetric and positive. */
function solve(rows: readonly Float64Array[]): Float64Array {
  const count = rows.length
  for (let pivot = 0; pivot < count; pivot++) {
    // A tone that the block does not hold leaves a row of zeros: it gets no amplitude.
    rows[pivot]![pivot]! += 1e-9
    for (let row = pivot + 1; row < count; row++) {
      const factor = rows[row]![pivot]! / rows[pivot]![pivot]!
      for (let column = pivot; column <= count; column++)
        rows[row]![column]! -= factor * rows[pivot]![column]!
    }
  }
  const solution = new Float64Array(count)
  for (let row = count - 1; row >= 0; row--) {
    let value = rows[row]![count]!
    for (let column = row + 1; column < count; column++)
      value -= rows[row]![column]! * solution[column]!
    solution[row] = value / rows[row]![row]!
  }
  return solution
}
