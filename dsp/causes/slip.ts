// Samples that were lost, or that silence stands in for: the symbols behind them lie elsewhere than those before them.
import type { SampleRange } from './audioSigns.js'
import { middleOf, type Piece, pieceSamples, timingJump } from './pieceFits.js'
import type { Signs } from './signs.js'

/** Somewhere within the range, most likely there. */
export interface Slip extends SampleRange {
  readonly atSample: number
}

/** Samples of jump from which on the timing is another. */
const jumpMin = 1
const steadyMax = 0.5

/**
 * @param goodDb Eb/N0 that the better pieces have
 * @param isOnlyTrouble a single piece that does not fit is a slip, too
 */
export function slipAt(signs: Signs, goodDb: number, isOnlyTrouble: boolean): Slip | undefined {
  const { pieces, firstPiece, endPiece, gaps } = signs
  if (goodDb < 8) return undefined
  const isGood = (at: number): boolean =>
    pieces[at] !== undefined && pieces[at].ebN0Db > Math.max(6, goodDb - 4)
  const isOneTiming = (at: number, next: number): boolean =>
    pieces[at] === undefined ||
    pieces[next] === undefined ||
    !isGood(at) ||
    !isGood(next) ||
    Math.abs(timingJump(pieces[at], pieces[next])) < steadyMax
  const start = middleOf(pieces[firstPiece]!)
  const end = middleOf(pieces[endPiece - 1] ?? pieces[firstPiece]!)
  const gap = gaps.find((one) => one.firstSample > start && one.lastSample < end)
  if (gap !== undefined)
    return { atSample: gap.firstSample, from: gap.firstSample, to: gap.lastSample }
  for (let at = firstPiece; at + 1 < endPiece; at++) {
    const next = isGood(at + 1) ? at + 1 : at + 2
    if (!isGood(at) || !isGood(next) || next >= endPiece) continue
    const isSteady = isOneTiming(at - 1, at) && isOneTiming(next, next + 1)
    if (!isSteady || Math.abs(timingJump(pieces[at]!, pieces[next]!)) <= jumpMin) continue
    const [before, behind] = [pieces[at]!, pieces[next]!]
    const atSample = before.startSample + pieceSamples
    return { atSample, from: middleOf(before), to: middleOf(behind) }
  }
  if (!isOnlyTrouble) return undefined
  for (let at = firstPiece + 1; at + 1 < endPiece; at++) {
    const isAlone = isGood(at - 1) && (isGood(at + 1) || isGood(at + 2))
    if (isAlone && pieces[at]!.ebN0Db < goodDb - 5) return inPiece(pieces[at]!)
  }
  return undefined
}

const inPiece = ({ startSample }: Piece): Slip => ({
  ...{ atSample: startSample, from: startSample, to: startSample + pieceSamples },
})
