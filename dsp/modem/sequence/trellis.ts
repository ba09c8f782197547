// Sequence detection over the phase trellis of the AFSK signal, first pass.
//
// Model: continuous-phase FSK with modulation index 5/6: the phase runs on through tone changes, so a symbol's tone shows
// in the phase of all that follow, and deciding on whole sequences gains 4 to 5 dB over deciding symbol by symbol. The state
// is the last four tones; the carrier phase is not known, so each survivor keeps its own (per-survivor processing):
//     R <- (memory R + a C) exp(j step),    metric += |memory R + a C| - |memory R| - a^2 / 2
// with C the correlation of the branch's tone, a its amplitude, step the phase that the tone adds in a symbol. The term
// a^2 / 2 is half of the branch's energy: without it a louder tone would win too often.
// Sources: Anderson, Aulin and Sundberg, Digital Phase Modulation, 1986; Raheli, Polydoros and Tzou, Per-Survivor Processing,
// IEEE Trans. Commun. 43, 1995.
import { type BlockEstimate, blockSymbols, spaceTurn } from './phaseStep.js'
import { symbolMask } from './symbols.js'
import type { SymbolRun } from './toneCorrelations.js'

/** How much of a survivor's phase reference the next symbol inherits: about eight symbols are averaged. Found by trial. */
const memory = 0.88
const stateCount = 16
const half = stateCount / 2

export interface SequenceTrellis {
  /**
   * Takes one block of symbols and decides on the block before it: survivors have merged by then.
   * @param first number of the block's first symbol, a multiple of 32
   * @param tones the 32 tones (1 mark) of the block before, written here
   */
  step(run: SymbolRun, first: number, estimate: BlockEstimate, tones: Uint8Array): void
}

export function createSequenceTrellis(): SequenceTrellis {
  let survivors = new Float64Array(4 * stateCount)
  let next = new Float64Array(4 * stateCount)
  // Bit s tells which of its two predecessors state s came from, for the block before and this one.
  const choices = new Uint16Array(2 * blockSymbols)

  const extend = (run: SymbolRun, first: number, estimate: BlockEstimate): void => {
    const mark = toneOf(estimate.markStep, estimate.markAmplitude)
    const space = toneOf(estimate.spaceStep + spaceTurn, estimate.spaceAmplitude)
    for (let symbol = 0; symbol < blockSymbols; symbol++) {
      const at = (first + symbol) & symbolMask
      choices[blockSymbols + symbol] =
        extendBy(space, 0, run.spaceRe, run.spaceIm, at, survivors, next) +
        extendBy(mark, 1, run.markRe, run.markIm, at, survivors, next)
      const swap = survivors
      survivors = next
      next = swap
    }
    // Metrics count from the first one, so that they stay small.
    const zero = survivors[metricAt]!
    for (let at = baseAt; at < survivors.length; at++) survivors[at]! -= zero
  }

  return {
    step(run, first, estimate, tones) {
      choices.copyWithin(0, blockSymbols)
      extend(run, first, estimate)
      let state = 0
      for (let s = 1; s < stateCount; s++)
        if (survivors[metricAt + s]! > survivors[metricAt + state]!) state = s
      for (let symbol = 2 * blockSymbols - 1; symbol >= 0; symbol--) {
        if (symbol < blockSymbols) tones[symbol] = state & 1
        state = (state >> 1) | ((choices[symbol]! >> state) & 1 ? half : 0)
      }
    },
  }
}

/** Where in an array of survivors the parts of each state stand: memory R (real, imaginary), metric - |memory R|, metric. */
const imAt = stateCount
const baseAt = 2 * stateCount
const metricAt = 3 * stateCount

/** One tone of a block of symbols: exp(j step), and its amplitude. */
interface Tone {
  readonly cos: number
  readonly sin: number
  readonly amplitude: number
}

const toneOf = (step: number, amplitude: number): Tone => ({
  cos: Math.cos(step),
  sin: Math.sin(step),
  amplitude,
})

/**
 * The eight states that one tone leads to.
 * @param mark 1 for the mark tone, 0 for space
 * @param at where the symbol stands in the tone's correlations
 * @returns their choices, as bits
 */
function extendBy(
  { cos, sin, amplitude }: Tone,
  mark: number,
  symbolsRe: Float64Array,
  symbolsIm: Float64Array,
  at: number,
  from: Float64Array,
  into: Float64Array,
): number {
  const re = symbolsRe[at]! * amplitude
  const im = symbolsIm[at]! * amplitude
  const energy = (amplitude * amplitude) / 2
  let chosen = 0
  // States 2 p and 2 p + 1 both come from p or from p + 8.
  for (let p = 0; p < half; p++) {
    const re0 = from[p]! + re
    const im0 = from[imAt + p]! + im
    const re1 = from[half + p]! + re
    const im1 = from[imAt + half + p]! + im
    const size0 = Math.sqrt(re0 * re0 + im0 * im0)
    const size1 = Math.sqrt(re1 * re1 + im1 * im1)
    const metric0 = from[baseAt + p]! + size0
    // 1 if the second is better, else 0: near enough to chance for a branch to cost more than this arithmetic.
    const lead = from[baseAt + half + p]! + size1 - metric0
    const sign = lead / (Math.abs(lead) + 1e-300)
    const pick = 0.5 * (sign + Math.abs(sign))
    const state = 2 * p + mark
    chosen += pick * (1 << state)
    const wonRe = re0 + pick * (re1 - re0)
    const wonIm = im0 + pick * (im1 - im0)
    const metric = metric0 + pick * lead - energy
    into[state] = (wonRe * cos - wonIm * sin) * memory
    into[imAt + state] = (wonRe * sin + wonIm * cos) * memory
    into[baseAt + state] = metric - (size0 + pick * (size1 - size0)) * memory
    into[metricAt + state] = metric
  }
  // A whole number: any other would be made on the heap.
  return chosen | 0
}
