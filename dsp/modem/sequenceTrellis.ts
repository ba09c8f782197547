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
  const refRe = new Float64Array(stateCount)
  const refIm = new Float64Array(stateCount)
  const metric = new Float64Array(stateCount)
  const nextRe = new Float64Array(stateCount)
  const nextIm = new Float64Array(stateCount)
  const nextMetric = new Float64Array(stateCount)
  // Bit s tells which of its two predecessors state s came from, for the block before and this one.
  const choices = new Uint16Array(2 * blockSymbols)

  const extend = (run: SymbolRun, first: number, estimate: BlockEstimate): void => {
    const { markAmplitude, spaceAmplitude } = estimate
    const markCos = Math.cos(estimate.markStep)
    const markSin = Math.sin(estimate.markStep)
    const spaceCos = Math.cos(estimate.spaceStep + spaceTurn)
    const spaceSin = Math.sin(estimate.spaceStep + spaceTurn)
    const markEnergy = (markAmplitude * markAmplitude) / 2
    const spaceEnergy = (spaceAmplitude * spaceAmplitude) / 2
    for (let symbol = 0; symbol < blockSymbols; symbol++) {
      const at = (first + symbol) & symbolMask
      const mr = run.markRe[at]! * markAmplitude
      const mi = run.markIm[at]! * markAmplitude
      const sr = run.spaceRe[at]! * spaceAmplitude
      const si = run.spaceIm[at]! * spaceAmplitude
      let chosen = 0
      let top = Number.NEGATIVE_INFINITY
      // States 2 p and 2 p + 1 both come from p or from p + 8.
      for (let from0 = 0; from0 < half; from0++) {
        const from1 = from0 + half
        const ar = refRe[from0]! * memory
        const ai = refIm[from0]! * memory
        const br = refRe[from1]! * memory
        const bi = refIm[from1]! * memory
        const a = metric[from0]! - Math.sqrt(ar * ar + ai * ai)
        const b = metric[from1]! - Math.sqrt(br * br + bi * bi)
        for (let mark = 0; mark < 2; mark++) {
          const state = 2 * from0 + mark
          const cr = mark === 1 ? mr : sr
          const ci = mark === 1 ? mi : si
          const re0 = ar + cr
          const im0 = ai + ci
          const re1 = br + cr
          const im1 = bi + ci
          const metric0 = a + Math.sqrt(re0 * re0 + im0 * im0)
          const metric1 = b + Math.sqrt(re1 * re1 + im1 * im1)
          const second = metric1 > metric0
          if (second) chosen |= 1 << state
          const re = second ? re1 : re0
          const im = second ? im1 : im0
          const cos = mark === 1 ? markCos : spaceCos
          const sin = mark === 1 ? markSin : spaceSin
          nextRe[state] = re * cos - im * sin
          nextIm[state] = re * sin + im * cos
          const value = (second ? metric1 : metric0) - (mark === 1 ? markEnergy : spaceEnergy)
          nextMetric[state] = value
          if (value > top) top = value
        }
      }
      choices[blockSymbols + symbol] = chosen
      for (let state = 0; state < stateCount; state++) {
        refRe[state] = nextRe[state]!
        refIm[state] = nextIm[state]!
        metric[state] = nextMetric[state]! - top
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
        state = (state >> 1) | ((choices[symbol]! >> state) & 1 ? 8 : 0)
      }
    },
  }
}
