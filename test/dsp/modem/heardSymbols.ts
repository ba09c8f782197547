// Symbols of audio whose timing is known, without the search for it.
import {
  createSymbolRun,
  createToneCorrelations,
  type SymbolRun,
  sampleSymbol,
  symbolSamples,
  type ToneCorrelations,
} from '../../../dsp/modem/sequence/toneCorrelations.js'

/** Symbols that a ring of the detector's holds: a power of two. */
export const ringSymbols = 8192

/** @param startOf where symbol k begins; ten samples a symbol from the first one on unless given */
export function heardSymbols(
  audio: Float32Array,
  startOf: (symbol: number) => number = (symbol) => symbolSamples * symbol,
): { correlations: ToneCorrelations; run: SymbolRun; mask: number } {
  const correlations = createToneCorrelations()
  correlations.append(audio)
  const run = createSymbolRun(ringSymbols)
  const count = Math.min(ringSymbols, Math.floor(audio.length / symbolSamples))
  for (let k = 0; k < count; k++) sampleSymbol(correlations, startOf(k), run, k)
  return { correlations, run, mask: ringSymbols - 1 }
}
