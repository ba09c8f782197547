// A stretch of signal in which no frame was found, kept as the correlations of its symbols: another copy of the same frame
// may be held against it.

import { decideByThree, turnsOf } from '../secondPass/byThree.js'
import { straightTiming } from '../secondPass/fit.js'
import type { FloatRun } from '../secondPass/jointTrellis.js'
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
  /** trust in each symbol, 1 and less: noise over the noise about it, which rises where an FM signal fades */
  readonly weights: Float32Array
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
    if (to - from < symbolsMin) return
    const stretch = makeStretch(symbols, correlations, from, to, meanEstimate(estimates))
    if (stretch !== undefined) onStretch(stretch)
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
): Stretch | undefined {
  const all = to - from
  const { start: allStart, length } = straightTiming({
    ...{ run: symbols.run, mask: symbolMask, firstSymbol: from, symbolCount: all },
  })
  const whole = createSymbolRun(all)
  for (let k = 0; k < all; k++) sampleSymbol(correlations, allStart + length * k, whole, k)
  const allLeads = new Float32Array(all)
  const allShares = new Float64Array(all)
  const decided = { tones: new Uint8Array(all), shares: allShares, leads: allLeads }
  decideByThree(whole, all, turnsOf(estimate), decided)
  const kept = besideFlags(allLeads)
  if (kept.end - kept.first < symbolsMin) return undefined
  const cut = <T extends Float32Array | Float64Array>(values: T): T =>
    values.slice(kept.first, kept.end) as T
  const count = kept.end - kept.first
  const start = allStart + length * kept.first
  const leads = cut(allLeads)
  const shares = cut(allShares)
  const run = {
    ...{ markRe: cut(whole.markRe), markIm: cut(whole.markIm) },
    ...{ spaceRe: cut(whole.spaceRe), spaceIm: cut(whole.spaceIm) },
  }
  normalise(leads)
  const powers = Float64Array.from(
    { length: count },
    (_, k) =>
      run.markRe[k]! ** 2 + run.markIm[k]! ** 2 + run.spaceRe[k]! ** 2 + run.spaceIm[k]! ** 2,
  )
  const power = powers.reduce((sum, one) => sum + one, 0)
  const signal = (estimate.markAmplitude ** 2 + estimate.spaceAmplitude ** 2) / 2
  return {
    ...{ count, startSample: start, symbolLength: length, leads, ...estimate },
    weights: weightsOf(powers, shares),
    run: {
      markRe: Float32Array.from(run.markRe),
      markIm: Float32Array.from(run.markIm),
      spaceRe: Float32Array.from(run.spaceRe),
      spaceIm: Float32Array.from(run.spaceIm),
    },
    variance: Math.max((power / count - signal) / 4, 0.01 * signal) + 1e-12,
  }
}

/** A flag takes 8 symbols and begins and ends with the same tone: where flags follow each other, tones come again after 8. */
const flagSymbols = 8
/** Symbols on each side over which likeness with those a flag later is averaged, and the least that flags have at 1 dB Eb/N0. */
const flagReach = 16
const flagLikeness = 0.4
/** Flags that are kept around the rest. */
const marginSymbols = 40

/**
 * What of a stretch is more than flags: idle transmissions are alike without saying anything.
 * @param leads not yet normalised
 */
function besideFlags(leads: Float32Array): { first: number; end: number } {
  const { length } = leads
  let product = 0
  let power = 1e-12
  let first = -1
  let last = -2
  for (let k = 0; k + flagSymbols < length; k++) {
    product += leads[k]! * leads[k + flagSymbols]!
    power += leads[k]! ** 2
    const old = k - 2 * flagReach
    if (old < 0) continue
    if (product < flagLikeness * power) {
      if (first < 0) first = old
      last = k
    }
    product -= leads[old]! * leads[old + flagSymbols]!
    power -= leads[old]! ** 2
  }
  if (last - first < symbolsMin) return { first: 0, end: 0 }
  return {
    first: Math.max(0, first - marginSymbols),
    end: Math.min(length, last + marginSymbols),
  }
}

/** Symbols on each side over which the noise is averaged. */
const noiseReach = 12
const weightMin = 0.02
/** Up to this, over its median, it is taken for the chance of white noise. */
const noiseTolerated = 1.7

/** What does not lie along the best sequence is taken for noise. */
function weightsOf(powers: Float64Array, shares: Float64Array): Float32Array {
  const { length } = powers
  const noises = new Float64Array(length)
  for (let k = 0; k < length; k++) {
    const from = Math.max(0, k - noiseReach)
    const to = Math.min(length, k + noiseReach + 1)
    for (let at = from; at < to; at++) noises[k]! += powers[at]! * (1 - shares[at]!)
    noises[k]! /= to - from
  }
  const median = noises.toSorted()[length >> 1]!
  return Float32Array.from(noises, (noise) =>
    Math.max(weightMin, Math.min(1, (noiseTolerated * median) / (noise + 1e-12))),
  )
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
