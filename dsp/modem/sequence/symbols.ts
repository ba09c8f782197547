// Cuts the stream of correlations into symbols, along the timing estimates of timing.ts.
import type { SymbolListener } from './lineMetric.js'
import { createSequenceTiming, hopCells, type TimingEstimate, windowHops } from './timing.js'
import {
  createSymbolRun,
  type SymbolRun,
  sampleSymbol,
  symbolSamples,
  type ToneCorrelations,
} from './toneCorrelations.js'

/** Symbols kept: 6.8 s. A power of two; entry k is at `k & symbolMask`. */
export const symbolCapacity = 2 ** 13
export const symbolMask = symbolCapacity - 1

export interface SymbolStream {
  readonly run: SymbolRun
  /** height of the timing line around each symbol, 0 to 1 */
  readonly lineQuality: Float32Array
  /** symbols cut so far */
  readonly count: number
  /** Takes in what the correlations have gained. */
  advance(): void
}

export function createSymbolStream(
  correlations: ToneCorrelations,
  onSymbol?: SymbolListener,
): SymbolStream {
  const timing = createSequenceTiming(correlations, onSymbol)
  const run = createSymbolRun(symbolCapacity)
  const lineQuality = new Float32Array(symbolCapacity)
  const estimate: TimingEstimate = { startSample: 0, rateError: 0, quality: 0 }
  let count = 0
  let hop = 0
  /** start of the latest symbol; a variable of the closure would be made anew, on the heap, at each change */
  const last = new Float64Array(1)

  const cutHop = (): void => {
    timing.estimate(hop, estimate)
    const length = symbolSamples / (1 + estimate.rateError)
    const end = (hop + 1) * hopCells * symbolSamples
    const grid = estimate.startSample
    let next = grid + length * Math.round((last[0]! + length - grid) / length)
    // Between bursts the grid jumps: never closer to the last symbol than half a symbol.
    if (next < last[0]! + 0.55 * length) next += length
    for (; next < end; next += length) {
      const at = count & symbolMask
      sampleSymbol(correlations, next, run, at)
      lineQuality[at] = estimate.quality
      last[0] = next
      count++
    }
    hop++
  }

  return {
    run,
    lineQuality,
    get count() {
      return count
    },
    advance() {
      timing.advance()
      while (timing.hops >= hop + windowHops) cutHop()
    },
  }
}
