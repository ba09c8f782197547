// A stretch of signal in which no frame was found, kept as the correlations of its symbols: another copy of the same frame
// may be held against it.

import { decideByThree, turnsOf } from '../secondPass/byThree.js'
import { straightTiming } from '../secondPass/fit.js'
import { type BlockEstimate, blockSymbols } from '../sequence/phaseStep.js'
import { type SymbolStream, symbolMask } from '../sequence/symbols.js'
import {
  createSymbolRun,
  sampleSymbol,
  type ToneCorrelations,
} from '../sequence/toneCorrelations.js'

export interface Stretch {
  readonly count: number
  /** symbols along an even grid */
  readonly run: FloatRun
  /** working samples: where symbol 0 begins, and the length of one */
  readonly startSample: number
  readonly symbolLength: number
  readonly markStep: number
  readonly spaceStep: number
  readonly markAmplitude: number
  readonly spaceAmplitude: number
  /** variance of a correlation, each of its two parts */
  readonly variance: number
  /** how far mark leads over space in each symbol, mean taken out and mean square 1 */
  readonly leads: Float32Array
}

/** Correlations of a run of symbols, as they are kept. */
export interface FloatRun {
  readonly markRe: Float32Array
  readonly markIm: Float32Array
  readonly spaceRe: Float32Array
  readonly spaceIm: Float32Array
}

/** Shortest stretch that can hold a frame of 17 octets, and longest: 2.8 s. */
const symbolsMin = 150
export const stretchSymbolsMax = 3400
/** Mean presence of two blocks from which on a signal is there, and below which it is gone (search.ts has the same). */
const presenceOn = 0.5
const presenceOff = 0.42
/** A signal that comes back within so many blocks was only faded. */
const fadeBlocksMax = 4
/** Mean coherence of a stretch that is worth keeping. */
const coherenceMin = 0.48

export interface StretchCollector {
  /** a frame was found here: symbol numbers of the stream */
  frame(firstSymbol: number, endSymbol: number): void
  /** Takes in what was estimated for the next block of symbols. */
  block(estimate: BlockEstimate): void
  /** Ends the stretch at hand. */
  finish(): void
}

export function createStretchCollector(
  symbols: SymbolStream,
  correlations: ToneCorrelations,
  onStretch: (stretch: Stretch) => void,
): StretchCollector {
  let blocks = 0
  let presenceBefore = 0
  let first = -1
  let lastPresent = 0
  let estimates: BlockEstimate[] = []
  let covered: { from: number; to: number }[] = []

  const emit = (from: number, to: number): void => {
    if (to - from >= symbolsMin)
      onStretch(makeStretch(symbols, correlations, from, to, meanEstimate(estimates)))
  }
  /** What of the signal no frame accounts for. */
  const end = (): void => {
    const to = Math.min((lastPresent + 1) * blockSymbols, symbols.count)
    const coherence = estimates.reduce((sum, one) => sum + one.coherence, 0) / estimates.length
    if (first >= 0 && coherence >= coherenceMin) {
      let from = first
      for (const frame of covered.toSorted((a, b) => a.from - b.from)) {
        emit(from, Math.min(frame.from, to))
        from = Math.max(from, frame.to)
      }
      emit(from, to)
    }
    first = -1
    estimates = []
    covered = []
  }

  return {
    frame: (firstSymbol, endSymbol) => {
      covered.push({ from: firstSymbol, to: endSymbol })
    },
    block(estimate) {
      const level = (presenceBefore + estimate.presence) / 2
      presenceBefore = estimate.presence
      if (first < 0) {
        covered = []
        if (level >= presenceOn) first = Math.max(0, blocks - 1) * blockSymbols
      }
      if (level >= presenceOff) lastPresent = blocks
      if (first >= 0) estimates.push({ ...estimate })
      blocks++
      const isFull = blocks * blockSymbols - first > stretchSymbolsMax - blockSymbols
      if (first >= 0 && (blocks - lastPresent > fadeBlocksMax || isFull)) end()
    },
    finish: end,
  }
}

type MeanEstimate = Pick<
  BlockEstimate,
  'markStep' | 'spaceStep' | 'markAmplitude' | 'spaceAmplitude'
>

/** Of the blocks, those with much signal in them count more. */
function meanEstimate(estimates: readonly BlockEstimate[]): MeanEstimate {
  let weight = 0
  const mean = { markStep: 0, spaceStep: 0, markAmplitude: 0, spaceAmplitude: 0 }
  for (const one of estimates) {
    const share = one.coherence ** 4
    weight += share
    for (const key of ['markStep', 'spaceStep', 'markAmplitude', 'spaceAmplitude'] as const)
      mean[key] += share * one[key]
  }
  for (const key of ['markStep', 'spaceStep', 'markAmplitude', 'spaceAmplitude'] as const)
    mean[key] /= weight
  return mean
}

function makeStretch(
  symbols: SymbolStream,
  correlations: ToneCorrelations,
  from: number,
  to: number,
  estimate: MeanEstimate,
): Stretch {
  const count = to - from
  const { start, length } = straightTiming({
    ...{ run: symbols.run, mask: symbolMask, firstSymbol: from, symbolCount: count },
  })
  const run = createSymbolRun(count)
  for (let k = 0; k < count; k++) sampleSymbol(correlations, start + length * k, run, k)
  const leads = new Float32Array(count)
  decideByThree(run, count, turnsOf(estimate), {
    tones: new Uint8Array(count),
    shares: new Float64Array(count),
    leads,
  })
  normalise(leads)
  let power = 0
  for (let k = 0; k < count; k++)
    power += run.markRe[k]! ** 2 + run.markIm[k]! ** 2 + run.spaceRe[k]! ** 2 + run.spaceIm[k]! ** 2
  const signal = (estimate.markAmplitude ** 2 + estimate.spaceAmplitude ** 2) / 2
  return {
    ...{ count, startSample: start, symbolLength: length, leads, ...estimate },
    run: {
      markRe: Float32Array.from(run.markRe),
      markIm: Float32Array.from(run.markIm),
      spaceRe: Float32Array.from(run.spaceRe),
      spaceIm: Float32Array.from(run.spaceIm),
    },
    variance: Math.max((power / count - signal) / 4, 0.01 * signal) + 1e-12,
  }
}

function normalise(values: Float32Array): void {
  let sum = 0
  for (const value of values) sum += value
  const mean = sum / values.length
  let square = 1e-12
  for (const value of values) square += (value - mean) ** 2
  const scale = 1 / Math.sqrt(square / values.length)
  for (let at = 0; at < values.length; at++) values[at] = (values[at]! - mean) * scale
}
