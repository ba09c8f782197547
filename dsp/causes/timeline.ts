// When the signal came and went, by its pieces.
import { median } from '../numbers/median.js'
import { misfitOverBesideDb, powerOf } from './misfit.js'
import type { MeasuredSigns } from './signs.js'

/** A full-quieting signal may have 40 dB: what it falls to by a little misfit is still no trouble. */
export const plentyDb = 24

/** So much of the same signal behind the stretch goes on within the frame, which a false flag has cut: 0.1 s. */
export const goesOnPieces = 5

export interface Timeline {
  /** pieces of the whole signal that the stretch is part of: first, and behind the last */
  readonly first: number
  readonly end: number
  /** Eb/N0 that its better pieces have */
  readonly goodDb: number
  readonly goodPower: number
  /** in the midst of it the signal was gone, or nearly so */
  readonly fades: boolean
}

/** Below this, so many pieces in a row, there is no signal. */
const noSignalDb = 0
const silentPieces = 2
/** What is louder than the signal counts half. */
const loudOver = 1.5
/** Noise has no more in the band than beside it. */
const crowdedDb = 3.5
/** Where a stretch stops, another signal may have stopped it. */
const fadeEndPieces = 4

export function timelineOf({
  pieces,
  firstPiece,
  endPiece,
}: Pick<MeasuredSigns, 'pieces' | 'firstPiece' | 'endPiece'>): Timeline {
  const inside = pieces.slice(firstPiece, endPiece)
  const sorted = inside.map(({ ebN0Db }) => ebN0Db).toSorted((a, b) => a - b)
  const goodDb = Math.min(plentyDb, sorted[Math.floor(0.75 * sorted.length)] ?? 0)
  const good = inside.filter(({ ebN0Db }) => ebN0Db >= goodDb)
  const goodPower = Math.max(1e-15, ...[median(good.map(({ signalPower }) => signalPower))])
  const limitDb = Math.max(noSignalDb, goodDb - 20)
  // Beside a second signal what fits is little, and what is heard is much; where a signal ends, one piece is so, too.
  const isCrowded = (at: number, step: 1 | -1): boolean => {
    const run = [at, at + step, at + 2 * step].flatMap((one) => pieces[one] ?? [])
    return (
      run.every((piece) => powerOf(piece) > goodPower / 2) &&
      median(run.map((piece) => misfitOverBesideDb([piece]))) > crowdedDb
    )
  }
  const isSilent = (at: number, step: 1 | -1): boolean =>
    pieces[at] === undefined ||
    ((pieces[at].ebN0Db < limitDb || pieces[at].signalPower < goodPower / 30) &&
      !isCrowded(at, step))
  // A crash drowns it for a while.
  const isLoud = (at: number): boolean =>
    pieces[at] !== undefined && powerOf(pieces[at]) > loudOver * goodPower
  const reach = (from: number, step: 1 | -1): number => {
    let at = from
    let silent = 0
    let last = from
    while (pieces[at] !== undefined && silent < silentPieces) {
      silent = isSilent(at, step) ? silent + (isLoud(at) ? 0.5 : 1) : 0
      if (silent === 0) last = at
      at += step
    }
    return last
  }
  const first = reach(firstPiece, -1)
  const end = reach(Math.max(firstPiece, endPiece - 1), 1) + 1
  // The piece in which it begins may be noise in part.
  const opened = pieces.findIndex(({ ebN0Db }, at) => at >= firstPiece && ebN0Db > goodDb - 5)
  const fades = pieces
    .slice(opened, Math.min(end - 1, endPiece - fadeEndPieces))
    .some(({ ebN0Db, signalPower }) => ebN0Db < goodDb - 10 && signalPower < goodPower / 1.9)
  return { first, end, goodDb, goodPower, fades }
}
