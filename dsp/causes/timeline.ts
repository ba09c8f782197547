// When the signal came and went, by its pieces.
import { plentyDb } from './secondSignal.js'
import type { Signs } from './signs.js'

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
/** Where a stretch stops, another signal may have stopped it. */
const fadeEndPieces = 4

export function timelineOf({
  pieces,
  firstPiece,
  endPiece,
}: Pick<Signs, 'pieces' | 'firstPiece' | 'endPiece'>): Timeline {
  const inside = pieces.slice(firstPiece, endPiece)
  const sorted = inside.map(({ ebN0Db }) => ebN0Db).toSorted((a, b) => a - b)
  const goodDb = Math.min(plentyDb, sorted[Math.floor(0.75 * sorted.length)] ?? 0)
  const good = inside.filter(({ ebN0Db }) => ebN0Db >= goodDb)
  const goodPower = Math.max(1e-15, ...[median(good.map(({ signalPower }) => signalPower))])
  const limitDb = Math.max(noSignalDb, goodDb - 20)
  const isSilent = (at: number): boolean =>
    pieces[at] === undefined ||
    pieces[at].ebN0Db < limitDb ||
    pieces[at].signalPower < goodPower / 30
  const reach = (from: number, step: 1 | -1): number => {
    let at = from
    let silent = 0
    let last = from
    while (pieces[at] !== undefined && silent < silentPieces) {
      silent = isSilent(at) ? silent + 1 : 0
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

const median = (values: readonly number[]): number =>
  values.toSorted((a, b) => a - b)[values.length >> 1] ?? 0
