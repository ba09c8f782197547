// Samples that were lost, or that silence stands in for: the symbols behind them lie elsewhere than those before them.
import type { Gap, SampleRange } from './audioSigns.js'
import { middleOf, type Piece, pieceSamples, timingJump } from './pieceFits.js'
import { misfitOverBesideDb } from './secondSignal.js'
import type { Signs } from './signs.js'

/** Somewhere within the range, most likely there. */
export interface Slip extends SampleRange {
  readonly atSample: number
}

/** Samples of jump from which on the timing is another. */
const jumpMin = 1
const steadyMax = 0.5

export interface SlipSearch {
  /** the timing can be told; without it only silence is looked for */
  readonly isTimed: boolean
  /** a single piece that does not fit is a slip, too */
  readonly isFitting: boolean
  /** a second signal, which has its own timing */
  readonly second: SampleRange | undefined
}

/** @param goodDb Eb/N0 that the better pieces have */
export function slipAt(
  signs: Signs,
  goodDb: number,
  { isTimed, isFitting, second }: SlipSearch,
): Slip | undefined {
  const { pieces, firstPiece, endPiece, gaps } = signs
  const silentPower = signs.signalPower / 30
  const start = middleOf(pieces[firstPiece]!)
  const end = middleOf(pieces[endPiece - 1] ?? pieces[firstPiece]!)
  // Silence before the signal is none.
  const isInside = (gap: Gap): boolean =>
    gap.firstSample > start &&
    gap.lastSample < end &&
    pieces.some(
      (piece) =>
        piece.ebN0Db > 0 && piece.signalPower > silentPower && gap.firstSample > middleOf(piece),
    )
  const gap = gaps.find(isInside)
  if (gap !== undefined)
    return { atSample: gap.firstSample, from: gap.firstSample, to: gap.lastSample }
  if (goodDb < 8 || !isTimed) return undefined
  const isGood = (at: number): boolean =>
    pieces[at] !== undefined &&
    pieces[at].ebN0Db > Math.max(6, goodDb - 4) &&
    pieces[at].signalPower > silentPower &&
    !isWithin(pieces[at], second)
  const isOneTiming = (at: number, next: number): boolean =>
    pieces[at] === undefined ||
    pieces[next] === undefined ||
    !isGood(at) ||
    !isGood(next) ||
    Math.abs(timingJump(pieces[at], pieces[next])) < steadyMax
  for (let at = firstPiece; at + 1 < endPiece; at++) {
    const next = isGood(at + 1) ? at + 1 : at + 2
    if (!isGood(at) || !isGood(next) || next >= endPiece) continue
    // Where noise came up in between, the timing was lost.
    if (next === at + 2 && isNoise(pieces[at + 1]!)) continue
    const isSteady = isOneTiming(at - 1, at) && isOneTiming(next, next + 1)
    if (!isSteady || Math.abs(timingJump(pieces[at]!, pieces[next]!)) <= jumpMin) continue
    const [before, behind] = [pieces[at]!, pieces[next]!]
    const atSample = before.startSample + pieceSamples
    return { atSample, from: middleOf(before), to: middleOf(behind) }
  }
  if (!isFitting) return undefined
  for (let at = firstPiece + 1; at + 1 < endPiece; at++) {
    const isAlone = isGood(at - 1) && (isGood(at + 1) || isGood(at + 2))
    if (isAlone && pieces[at]!.ebN0Db < goodDb - 5 && !isNoise(pieces[at]!))
      return inPiece(pieces[at]!)
  }
  return undefined
}

/** What does not fit stands beside the band, too. */
const isNoise = (piece: Piece): boolean => misfitOverBesideDb([piece]) < 1

/** Or beside it. */
const isWithin = (piece: Piece, range: SampleRange | undefined): boolean =>
  range !== undefined &&
  piece.startSample + 2 * pieceSamples > range.from &&
  piece.startSample - pieceSamples < range.to

const inPiece = ({ startSample }: Piece): Slip => ({
  ...{ atSample: startSample, from: startSample, to: startSample + pieceSamples },
})
