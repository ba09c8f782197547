// Samples that were lost, or that silence stands in for: the symbols behind them lie elsewhere than those before them.
import type { Gap, SampleRange } from './audioSigns.js'
import type { LineJump } from './lineJump.js'
import { misfitOverBesideDb } from './misfit.js'
import { middleOf, type Piece, pieceSamples, silentDb } from './pieceFits.js'
import type { Signs } from './signs.js'
import type { Timeline } from './timeline.js'
import { surestJump } from './timingLine.js'

/** Somewhere within the range, most likely there. */
export interface Slip extends SampleRange {
  readonly atSample: number
}

export interface SlipSearch {
  /** how far a single piece must lie below the others, and its misfit above noise, to be a slip, too, dB */
  readonly alone: { readonly fallDb: number; readonly misfitDb: number } | undefined
  /** a second signal, which has its own timing */
  readonly second: SampleRange | undefined
}

/** Recordings without a slip hardly ever have more: of a clear signal, and in noise, of which each cell shares two symbols with the next. */
const surenessMinClear = 5.5
const surenessMin = 7
const clearDb = 12
/** The stretch may end where samples were lost: so far behind it the same signal is looked at, 0.5 s. */
const behindSamples = 6000
/** Below this, or so far below the better pieces, the timing is chance. */
const weakDb = 1

/** Where samples may have been lost: from the start of the signal to what it goes on with behind the stretch, working samples. */
export function slipRange(
  { pieces, firstPiece, toSample }: Pick<Signs, 'pieces' | 'firstPiece' | 'toSample'>,
  { first, end }: Timeline,
): { readonly from: number; readonly to: number } {
  const from = pieces[Math.max(first, firstPiece - 1)]!.startSample
  const last = pieces[end - 1]!.startSample + pieceSamples
  return { from, to: Math.min(toSample + behindSamples, last) }
}

export function slipAt(
  signs: Signs,
  timeline: Timeline,
  { alone, second }: SlipSearch,
): Slip | undefined {
  const { from, to } = slipRange(signs, timeline)
  const gap = silenceWithin(signs, to)
  if (gap !== undefined)
    return { atSample: gap.firstSample, from: gap.firstSample, to: gap.lastSample }
  const { pieces, firstPiece, endPiece, line, lineJump } = signs
  if (lineJump !== undefined && isJump(lineJump)) return around(lineJump.atSample)
  const pieceAt = (sample: number): Piece | undefined =>
    pieces.find(({ startSample }) => startSample + pieceSamples > sample)
  const isSignal = (sample: number): boolean =>
    (pieceAt(sample)?.ebN0Db ?? silentDb) > Math.max(weakDb, timeline.goodDb - 8)
  const jump = surestJump(line, from, Math.min(to, second?.from ?? to), isSignal)
  const isClear = timeline.goodDb > clearDb && signs.rawClicks.length === 0
  if (jump !== undefined && jump.sureness > (isClear ? surenessMinClear : surenessMin))
    return around(jump.atSample)
  if (alone === undefined || timeline.goodDb < 8) return undefined
  const isGood = (at: number): boolean =>
    pieces[at] !== undefined &&
    pieces[at].ebN0Db > Math.max(6, timeline.goodDb - 4) &&
    pieces[at].signalPower > signs.signalPower / 30 &&
    !isWithin(pieces[at], second)
  for (let at = firstPiece + 1; at + 1 < endPiece; at++) {
    const isAlone = isGood(at - 1) && (isGood(at + 1) || isGood(at + 2))
    const isSpoilt = pieces[at]!.ebN0Db < timeline.goodDb - alone.fallDb
    // What does not fit stands beside the band, too, where it is noise.
    if (isAlone && isSpoilt && misfitOverBesideDb([pieces[at]!]) > alone.misfitDb)
      return inPiece(pieces[at]!)
  }
  return undefined
}

/** Turns: of 24 recordings with hum and no slip none had more than 0.05, nor explained a jump more than 0.22. */
const lineTurnMin = 0.055
const lineExplainedMin = 0.5
/** A tone that comes or goes does not jump. */
const lineRatioMax = 2

const isJump = ({ size, ratio, explained }: LineJump): boolean =>
  size > lineTurnMin && explained > lineExplainedMin && Math.max(ratio, 1 / ratio) < lineRatioMax

const around = (atSample: number): Slip => ({
  ...{ atSample, from: atSample - pieceSamples / 2, to: atSample + pieceSamples / 2 },
})

/** Silence before the signal is none. @param end of the signal */
function silenceWithin(
  { pieces, firstPiece, gaps, signalPower }: Signs,
  end: number,
): Gap | undefined {
  const start = middleOf(pieces[firstPiece]!)
  return gaps.find(
    ({ firstSample, lastSample }) =>
      firstSample > start &&
      lastSample < end &&
      pieces.some(
        (piece) =>
          piece.ebN0Db > 0 && piece.signalPower > signalPower / 30 && firstSample > middleOf(piece),
      ),
  )
}

/** Or beside it. */
const isWithin = (piece: Piece, range: SampleRange | undefined): boolean =>
  range !== undefined &&
  piece.startSample + 2 * pieceSamples > range.from &&
  piece.startSample - pieceSamples < range.to

const inPiece = ({ startSample }: Piece): Slip => ({
  ...{ atSample: startSample, from: startSample, to: startSample + pieceSamples },
})
