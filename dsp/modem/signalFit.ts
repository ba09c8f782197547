// Signal and noise power of a frame whose symbols, timing and tones are known. In blocks of a few symbols, each tone's two
// quadratures are fitted to what was heard (linear least squares); what the fit leaves is noise.
import { bandPassHalved, bandPassNoiseGain, workingRateHz } from './frontEnd.js'
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
const parameterCount = 4
/** The band-pass smears the unknown symbols around the frame into it, so far. */
const edgeSamples = 12

/** @param wide audio of the frame, at the working rate */
export function fitSignal(
  wide: Float64Array,
  levels: Uint8Array,
  timing: SymbolTiming,
  tones: ToneFrequencies,
): SignalFit {
  const heard = bandPassHalved(wide)
  const references = modulateQuadratures(wide.length, levels, timing, tones).map(bandPassHalved)
  const power = [0, 0]
  const samplesOf = [0, 0]
  let residual = 0
  let freedom = 0
  const gain = bandPassNoiseGain()
  for (let first = 0; first + symbolsPerBlock / 2 < levels.length; first += symbolsPerBlock) {
    const block = levels.subarray(first, first + symbolsPerBlock)
    const isLast = first + symbolsPerBlock * 1.5 >= levels.length
    const start = timing.start + first * timing.samplesPerSymbol
    const end = start + block.length * timing.samplesPerSymbol
    const from = Math.max(0, Math.round((start + (first === 0 ? edgeSamples : 0)) / 2))
    const to = Math.min(heard.length, Math.round((end - (isLast ? edgeSamples : 0)) / 2))
    const { coefficients, rest } = leastSquares(heard, references, from, to)
    residual += rest
    // At half the rate each sample counts twice.
    freedom += Math.max(1, (to - from) * gain - parameterCount / 2)
    const marks = block.reduce((sum, level) => sum + level, 0)
    const samples = [block.length - marks, marks].map((count) => count * timing.samplesPerSymbol)
    for (const level of [0, 1] as const) {
      const [a, b] = [coefficients[2 * level]!, coefficients[2 * level + 1]!]
      power[level]! += (samples[level]! * (a * a + b * b)) / 2
      samplesOf[level]! += samples[level]!
    }
  }
  const variance = Math.max(residual / freedom, 1e-15)
  const blocks = Math.ceil(levels.length / symbolsPerBlock)
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

/** Space cosine, space sine, mark cosine, mark sine: each zero while the other tone is on. */
function modulateQuadratures(
  length: number,
  levels: Uint8Array,
  timing: SymbolTiming,
  tones: ToneFrequencies,
): Float64Array[] {
  const references = Array.from({ length: parameterCount }, () => new Float64Array(length))
  let turns = 0
  for (let symbol = 0; symbol < levels.length; symbol++) {
    const level = levels[symbol]!
    const toneHz = level === 1 ? tones.markHz : tones.spaceHz
    const start = timing.start + symbol * timing.samplesPerSymbol
    const end = start + timing.samplesPerSymbol
    const cosine = references[2 * level]!
    const sine = references[2 * level + 1]!
    const first = Math.max(0, Math.ceil(start - 0.5))
    const last = Math.min(length - 1, Math.floor(end + 0.5))
    const phase = 2 * Math.PI * (turns + (toneHz * (first - start)) / workingRateHz)
    const step = (2 * Math.PI * toneHz) / workingRateHz
    const [stepRe, stepIm] = [Math.cos(step), Math.sin(step)]
    let [re, im] = [Math.cos(phase), Math.sin(phase)]
    for (let index = first; index <= last; index++) {
      // A sample on the border between two symbols belongs to each in part.
      const share = Math.min(index + 0.5, end) - Math.max(index - 0.5, start)
      cosine[index]! += share * re
      sine[index]! += share * im
      const turned = re * stepRe - im * stepIm
      im = re * stepIm + im * stepRe
      re = turned
    }
    turns += (toneHz * timing.samplesPerSymbol) / workingRateHz
  }
  return references
}

/** Normal equations by Gaussian elimination; the matrix is symmetric and positive. */
function leastSquares(
  heard: Float64Array,
  references: readonly Float64Array[],
  from: number,
  to: number,
): { coefficients: number[]; rest: number } {
  const rows = references.map((reference) => [
    ...references.map((other) => product(reference, other, from, to)),
    product(reference, heard, from, to),
  ])
  const right = rows.map((row) => row[parameterCount]!)
  for (let pivot = 0; pivot < parameterCount; pivot++) {
    // A tone that the block does not hold leaves a row of zeros: it gets no amplitude.
    rows[pivot]![pivot]! += 1e-9
    for (let row = pivot + 1; row < parameterCount; row++) {
      const factor = rows[row]![pivot]! / rows[pivot]![pivot]!
      for (let column = pivot; column <= parameterCount; column++)
        rows[row]![column]! -= factor * rows[pivot]![column]!
    }
  }
  const coefficients = new Array<number>(parameterCount).fill(0)
  for (let row = parameterCount - 1; row >= 0; row--) {
    let value = rows[row]![parameterCount]!
    for (let column = row + 1; column < parameterCount; column++)
      value -= rows[row]![column]! * coefficients[column]!
    coefficients[row] = value / rows[row]![row]!
  }
  const explained = coefficients.reduce((sum, value, row) => sum + value * right[row]!, 0)
  return { coefficients, rest: Math.max(0, product(heard, heard, from, to) - explained) }
}

function product(a: Float64Array, b: Float64Array, from: number, to: number): number {
  let sum = 0
  for (let index = from; index < to; index++) sum += a[index]! * b[index]!
  return sum
}
