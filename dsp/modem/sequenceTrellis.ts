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
import { type BlockEstimate, blockSymbols, spaceTurn } from './sequencePhaseStep.js'
import { symbolMask } from './sequenceSymbols.js'
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
  // memory R of each survivor, and its metric less |memory R|.
  const refRe = new Float64Array(stateCount)
  const refIm = new Float64Array(stateCount)
  const base = new Float64Array(stateCount)
  const metric = new Float64Array(stateCount)
  const nextRe = new Float64Array(stateCount)
  const nextIm = new Float64Array(stateCount)
  const nextSize = new Float64Array(stateCount)
  const nextMetric = new Float64Array(stateCount)
  // Bit s tells which of its two predecessors state s came from, for the block before and this one.
  const choices = new Uint16Array(2 * blockSymbols)

  /**
   * The eight states that one tone leads to.
   * @returns their choices, as in `choices`
   */
  const extendBy = (tone: Tone, symbolRe: number, symbolIm: number): number => {
    const { mark, cos, sin, amplitude } = tone
    const re = symbolRe * amplitude
    const im = symbolIm * amplitude
    const energy = (amplitude * amplitude) / 2
    let chosen = 0
    // States 2 p and 2 p + 1 both come from p or from p + 8.
    for (let from0 = 0; from0 < half; from0++) {
      const from1 = from0 + half
      const state = 2 * from0 + mark
      const re0 = refRe[from0]! + re
      const im0 = refIm[from0]! + im
      const re1 = refRe[from1]! + re
      const im1 = refIm[from1]! + im
      const size0 = Math.sqrt(re0 * re0 + im0 * im0)
      const size1 = Math.sqrt(re1 * re1 + im1 * im1)
      const metric0 = base[from0]! + size0
      const metric1 = base[from1]! + size1
      // 1 if the second is better, else 0: near enough to chance for a branch to cost more than this arithmetic.
      const lead = metric1 - metric0
      const sign = lead / (Math.abs(lead) + 1e-300)
      const pick = 0.5 * (sign + Math.abs(sign))
      chosen += pick * stateBit[state]!
      const wonRe = re0 + pick * (re1 - re0)
      const wonIm = im0 + pick * (im1 - im0)
      nextRe[state] = wonRe * cos - wonIm * sin
      nextIm[state] = wonRe * sin + wonIm * cos
      nextSize[state] = size0 + pick * (size1 - size0)
      nextMetric[state] = metric0 + pick * lead - energy
    }
    return chosen
  }

  const extend = (run: SymbolRun, first: number, estimate: BlockEstimate): void => {
    const mark = toneOf(1, estimate.markStep, estimate.markAmplitude)
    const space = toneOf(0, estimate.spaceStep + spaceTurn, estimate.spaceAmplitude)
    for (let symbol = 0; symbol < blockSymbols; symbol++) {
      const at = (first + symbol) & symbolMask
      choices[blockSymbols + symbol] =
        extendBy(mark, run.markRe[at]!, run.markIm[at]!) +
        extendBy(space, run.spaceRe[at]!, run.spaceIm[at]!)
      // Metrics count from one of them, so that they stay small.
      const zero = nextMetric[0]!
      for (let state = 0; state < stateCount; state++) {
        refRe[state] = nextRe[state]! * memory
        refIm[state] = nextIm[state]! * memory
        metric[state] = nextMetric[state]! - zero
        base[state] = nextMetric[state]! - zero - memory * nextSize[state]!
      }
    }
  }

  return {
    step(run, first, estimate, tones) {
      choices.copyWithin(0, blockSymbols)
      extend(run, first, estimate)
      let state = 0
      for (let s = 1; s < stateCount; s++) if (metric[s]! > metric[state]!) state = s
      for (let symbol = 2 * blockSymbols - 1; symbol >= 0; symbol--) {
        if (symbol < blockSymbols) tones[symbol] = state & 1
        state = (state >> 1) | ((choices[symbol]! >> state) & 1 ? half : 0)
      }
    },
  }
}

/** One tone of a block of symbols. */
interface Tone {
  /** 1 mark, 0 space */
  readonly mark: number
  readonly cos: number
  readonly sin: number
  readonly amplitude: number
}

const toneOf = (mark: number, step: number, amplitude: number): Tone => ({
  mark,
  cos: Math.cos(step),
  sin: Math.sin(step),
  amplitude,
})

const stateBit = Float64Array.from({ length: stateCount }, (_, state) => 2 ** state)
