// Tone frequencies of a frame whose symbols are known, from how fast the symbols' correlations turn.

import { workingRateHz } from './frontEnd.js'
import { markHz, spaceHz } from './modulator.js'
import {
  correlateSymbols,
  type SymbolCorrelations,
  type SymbolTiming,
  type ToneFrequencies,
  toneSums,
} from './symbolCorrelation.js'

/** Longer lags measure finer, but only once shorter ones have brought the turn well below half. */
const lags = [1, 1, 4, 12] as const

export function estimateTones(
  audio: Float64Array,
  levels: Uint8Array,
  timing: SymbolTiming,
): ToneFrequencies {
  let tones: ToneFrequencies = { markHz, spaceHz }
  for (const lag of lags) {
    const correlations = correlateSymbols(
      toneSums(audio, tones.markHz),
      toneSums(audio, tones.spaceHz),
      levels,
      timing,
    )
    tones = improve(tones, correlations, levels, timing, lag)
  }
  return tones
}

/**
 * One Gauss-Newton step: symbols of the same tone, `lag` or a little more apart, should have the same phase; what they turn
 * is the error of each tone times the symbols sent in it.
 */
function improve(
  tones: ToneFrequencies,
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
    const turn = across
    mm += weight * inMark * inMark
    ms += weight * inMark * inSpace
    ss += weight * inSpace * inSpace
    mTurn += turn * inMark
    sTurn += turn * inSpace
  }
  const ridge = 1e-6 * (mm + ss) + Number.MIN_VALUE
  const determinant = (mm + ridge) * (ss + ridge) - ms * ms
  const hzPerTurn = workingRateHz / timing.samplesPerSymbol / (2 * Math.PI)
  return {
    markHz: tones.markHz + (((ss + ridge) * mTurn - ms * sTurn) / determinant) * hzPerTurn,
    spaceHz: tones.spaceHz + (((mm + ridge) * sTurn - ms * mTurn) / determinant) * hzPerTurn,
  }
}

/** Element n: marks among the symbols 0 to n - 1. */
function markCounts(levels: Uint8Array): Uint32Array {
  const counts = new Uint32Array(levels.length + 1)
  for (let symbol = 0; symbol < levels.length; symbol++)
    counts[symbol + 1] = counts[symbol]! + levels[symbol]!
  return counts
}
