// Tone frequencies of a frame whose symbols are known, from how fast the symbols' correlations turn.

import { workingRateHz } from '../frontEnd/frontEnd.js'
import { markHz, spaceHz } from '../modulator.js'
import type { SymbolCorrelations, SymbolTiming, ToneFrequencies } from './symbolCorrelation.js'

/** Longer lags measure finer, but only once shorter ones have brought the turn well below half. */
const lags = [1, 1, 4, 12] as const

/**
 * @param correlations of each symbol with its own tone at the nominal frequencies; turned in place to those returned
 * @returns frequencies, good to about 100 Hz beyond the nominal ones
 */
export function estimateTones(
  correlations: SymbolCorrelations,
  levels: Uint8Array,
  timing: SymbolTiming,
): ToneFrequencies {
  let tones: ToneFrequencies = { markHz, spaceHz }
  for (const lag of lags) {
    const change = toneErrors(correlations, levels, timing, lag)
    turnBack(correlations, levels, timing, change)
    tones = { markHz: tones.markHz + change.markHz, spaceHz: tones.spaceHz + change.spaceHz }
  }
  return tones
}

/** Turns each symbol's correlation as if the reference had had tones higher by so much. */
function turnBack(
  { re, im }: SymbolCorrelations,
  levels: Uint8Array,
  timing: SymbolTiming,
  change: ToneFrequencies,
): void {
  // A correlation has the phase of the symbol's middle: half of its own turn goes before it, half behind it.
  const perHz = (-Math.PI * timing.samplesPerSymbol) / workingRateHz
  const markRe = Math.cos(perHz * change.markHz)
  const markIm = Math.sin(perHz * change.markHz)
  const spaceRe = Math.cos(perHz * change.spaceHz)
  const spaceIm = Math.sin(perHz * change.spaceHz)
  let cosine = 1
  let sine = 0
  for (let symbol = 0; symbol < levels.length; symbol++) {
    const halfRe = levels[symbol] === 1 ? markRe : spaceRe
    const halfIm = levels[symbol] === 1 ? markIm : spaceIm
    const middleRe = cosine * halfRe - sine * halfIm
    const middleIm = cosine * halfIm + sine * halfRe
    const turned = re[symbol]! * middleRe - im[symbol]! * middleIm
    im[symbol] = re[symbol]! * middleIm + im[symbol]! * middleRe
    re[symbol] = turned
    cosine = middleRe * halfRe - middleIm * halfIm
    sine = middleRe * halfIm + middleIm * halfRe
  }
}

/**
 * One Gauss-Newton step: symbols of the same tone, `lag` or a little more apart, should have the same phase; what they turn
 * is the error of each tone times the symbols sent in it.
 */
function toneErrors(
  { re, im }: SymbolCorrelations,
  levels: Uint8Array,
  timing: SymbolTiming,
  lag: number,
): ToneFrequencies {
  const marks = markCounts(levels)
  let mm = 0
  let ms = 0
  let ss = 0
  let mTurn = 0
  let sTurn = 0
  for (let later = lag; later < levels.length; later++) {
    const earlier = later - lag
    if (levels[later] !== levels[earlier]) continue
    const along = re[later]! * re[earlier]! + im[later]! * im[earlier]!
    const across = im[later]! * re[earlier]! - re[later]! * im[earlier]!
    // Of equal tones, half of each end symbol lies between the middles: as many marks as from start to start.
    const inMark = marks[later]! - marks[earlier]!
    const inSpace = lag - inMark
    // across is weight * sin(turn); at low SNR the angle itself would be far noisier.
    const weight = Math.max(0, along)
    mm += weight * inMark * inMark
    ms += weight * inMark * inSpace
    ss += weight * inSpace * inSpace
    mTurn += across * inMark
    sTurn += across * inSpace
  }
  const ridge = 1e-6 * (mm + ss) + ridgeOfSilence
  const determinant = (mm + ridge) * (ss + ridge) - ms * ms
  const hzPerTurn = workingRateHz / timing.samplesPerSymbol / (2 * Math.PI)
  return {
    markHz: (((ss + ridge) * mTurn - ms * sTurn) / determinant) * hzPerTurn,
    spaceHz: (((mm + ridge) * sTurn - ms * mTurn) / determinant) * hzPerTurn,
  }
}

/** Nothing beside the faintest signal, and its square is still a number: of silence no error is told. */
const ridgeOfSilence = 1e-100

/** Element n: marks among the symbols 0 to n - 1. */
function markCounts(levels: Uint8Array): Uint32Array {
  const counts = new Uint32Array(levels.length + 1)
  for (let symbol = 0; symbol < levels.length; symbol++)
    counts[symbol + 1] = counts[symbol]! + levels[symbol]!
  return counts
}
