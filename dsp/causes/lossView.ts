// What the causes were read off, over time and over delays: what a picture of a lost frame shows.
import { workingRateHz } from '../modem/frontEnd/frontEnd.js'
import type { CauseKind, PlacedCause } from './causes.js'
import { type Piece, pieceSamples } from './pieceFits.js'
import type { Signs } from './signs.js'

/** Seconds since the first sample of the lost frame, below 0 before it. */
export interface TimeSpan {
  readonly fromS: number
  readonly toS: number
}

export interface LossView {
  /** where each cause shows, in the order of the causes; nowhere when it is there all the time */
  readonly places: readonly { readonly kind: CauseKind; readonly spans: readonly TimeSpan[] }[]
  /** the signal, 20 ms by 20 ms */
  readonly pieces: readonly PieceView[]
  /** by delay: share of what no signal explains that an echo would, 0 to 1 */
  readonly echoes: readonly { readonly delayMs: number; readonly share: number }[]
}

export interface PieceView extends TimeSpan {
  readonly ebN0Db: number
  /** how much later its symbols begin than where those of the first good piece would go on, -0.5 to 0.5; undefined in noise */
  readonly lateSymbols: number | undefined
}

/** Of weaker pieces the timing is chance. */
const timingEbN0Db = 6

/** @param startS what lies between the lost frame's first sample and the stretch that was looked at */
export function lossView(signs: Signs, placed: readonly PlacedCause[], startS: number): LossView {
  const { pieces, fromSample, firstPiece, endPiece } = signs
  const spanOf = (from: number, to: number): TimeSpan => ({
    fromS: startS + (from - fromSample) / workingRateHz,
    toS: startS + (to - fromSample) / workingRateHz,
  })
  const lateOf = timingBeside(pieces.slice(firstPiece, endPiece))
  return {
    places: placed.map(({ cause, ranges }) => ({
      kind: cause.kind,
      spans: ranges.map(({ from, to }) => spanOf(from, to)),
    })),
    pieces: pieces.map((piece) => ({
      ...spanOf(piece.startSample, piece.startSample + pieceSamples),
      ebN0Db: piece.ebN0Db,
      lateSymbols: lateOf(piece),
    })),
    echoes: signs.echo.tried
      .map(({ delayMs, share }) => ({ delayMs, share }))
      .toSorted((a, b) => a.delayMs - b.delayMs),
  }
}

/** Beside a straight line through the first good piece with the length that symbols have in most of them. */
function timingBeside(inside: readonly Piece[]): (piece: Piece) => number | undefined {
  const good = inside.filter(({ ebN0Db }) => ebN0Db > timingEbN0Db)
  const lengths = good.map(({ samplesPerSymbol }) => samplesPerSymbol).toSorted((a, b) => a - b)
  const length = lengths[lengths.length >> 1]
  const first = good[0]
  return ({ ebN0Db, startSample, firstSymbol }) => {
    if (first === undefined || length === undefined || ebN0Db <= timingEbN0Db) return undefined
    const expected = first.startSample + (firstSymbol - first.firstSymbol) * length
    const late = (startSample - expected) / length
    return late - Math.round(late)
  }
}

/** At 9600 bit/s nothing is placed. */
export const emptyView: LossView = { places: [], pieces: [], echoes: [] }
