// A second sender: for a while what is heard is as loud as before and does not fit the signal, while beside the band it is quieter
// than noise as strong as the misfit would be; or flags begin where the frame stops. Where a signal fades, the noise that shows is
// as strong beside the band as in it: by that the two are told apart, also behind an FM receiver, whose loudness hardly falls.
import type { SampleRange } from './audioSigns.js'
import { echoShareMin } from './echoSign.js'
import { rhythmWindows } from './flagRhythm.js'
import { misfitOverBesideDb, powerOf } from './misfit.js'
import { type Piece, pieceSamples } from './pieceFits.js'
import { buzzShareMin, type MeasuredSigns, type Signs } from './signs.js'
import { goesOnPieces, plentyDb, type Timeline } from './timeline.js'

/** Two milliseconds: more than a click. */
export const crashSamples = 24

/** Eb/N0 of a signal beside which another can be told. */
const goodDbMin = 9
/** A piece is spoilt so far below that of the good ones. */
const spoiltDb = 4.5
/** Of the good pieces' power, while something else is heard. */
const powerShareMin = 1 / 3
/** Shorter runs of spoilt pieces are clicks or a hole; 60 ms. */
const piecesMin = 3
/** Where one tone is weaker, more may be decided wrongly. */
const lopsidedDb = 8
const piecesMinLopsided = 8
/** Pieces that lie between a good one and the run, and that the run may lie off the stretch. */
const reachPieces = 2
/** White noise has -1 dB, noise behind an FM receiver -2 to -5, two signals 0.4 to 10 (recordings of test/channel/lostFrames.ts). */
const misfitDbMin = 0.15
/** Further off, a tone stands beside the band itself. */
const offTuneHzMax = 150
/** And so much more, over the number of pieces, may be chance. */
const chanceDb = 3
/** In a shorter run clicks may be what is heard. */
const piecesMinBursts = 8

/** So long, so far below, and so much more than beside the band: no other trouble does that, nor a weak tone's wrong decisions. */
const surePieces = 6
const sureFallDb = 6.5
const sureMisfitDb = 4
/** What is left of hum is no noise either. */
const sureMisfitDbHum = 5
/** The stretch may end where it begins. */
const sureReachPieces = 8
/** So many pieces may fit in its midst. */
const chancePieces = 3
/** In flags a weak tone is not decided on. */
const flagsShare = 0.7

/**
 * One that is told whatever else is wrong, but for an echo, which is such a signal itself.
 * @returns where it is heard, working samples
 */
export function sureSecondSignal(
  signs: MeasuredSigns,
  { first, end }: Timeline,
): SampleRange | undefined {
  const { pieces, firstPiece, endPiece, flagsBehind, rhythm, echo } = signs
  const good = goodPieces(pieces, { first, end })
  if (good === undefined || echo.share > echoShareMin) return undefined
  const flags = rhythmWindows(rhythm, 8)
  const isSpoilt = (at: number): boolean =>
    pieces[at]!.ebN0Db < good.ebN0Db - spoiltDb && powerOf(pieces[at]!) > good.power * powerShareMin
  const isFlags = (at: number): boolean =>
    (flags.share[flags.windowAt(pieces[at]!.startSample)] ?? 0) > flagsShare
  const limitDb = isHum(signs) ? sureMisfitDbHum : sureMisfitDb
  // Where the frame ended there are closing flags.
  const isCut = flagsBehind <= 1 && end - endPiece > goesOnPieces
  const last = isCut ? end : Math.min(end, endPiece + sureReachPieces)
  for (let from = first; from < last; from++) {
    let to = from
    while (to < pieces.length && isSpoilt(to) && !isFlags(to)) to++
    const run = pieces.slice(from, to)
    const fallDb = good.ebN0Db - run.reduce((sum, { ebN0Db }) => sum + ebN0Db, 0) / run.length
    const isSure = run.length >= surePieces && to > firstPiece && fallDb > sureFallDb
    if (isSure && misfitOverBesideDb(run) > limitDb) {
      // It may have begun with flags of its own, and fit by chance now and then.
      for (let at = from - 1; at >= Math.max(first, from - chancePieces); at--)
        if (isSpoilt(at)) from = at
      return rangeOf(pieces.slice(from, to))
    }
    from = to
  }
  return undefined
}

const rangeOf = (run: readonly Piece[]): SampleRange => ({
  from: run[0]!.startSample,
  to: run.at(-1)!.startSample + pieceSamples,
})

/**
 * @param around pieces of the signal that the stretch belongs to: first, and behind the last
 * @param isHidden much else does not fit either
 * @returns where it is heard, working samples
 */
export function secondSignal(
  signs: Signs,
  around: { readonly first: number; readonly end: number },
  isHidden: boolean,
): SampleRange | undefined {
  const { pieces, firstPiece, endPiece, flagsBehind } = signs
  const good = goodPieces(pieces, around)
  if (good === undefined) return undefined
  const isSpoilt = (piece: Piece): boolean =>
    piece.ebN0Db < good.ebN0Db - spoiltDb && powerOf(piece) > good.power * powerShareMin
  const isGood = (at: number): boolean => (pieces[at]?.ebN0Db ?? 0) > good.ebN0Db - spoiltDb
  const isBeside = (from: number, to: number): boolean => {
    for (let off = 1; off <= reachPieces; off++)
      if (isGood(from - off) || isGood(to - 1 + off)) return true
    return false
  }
  const isLopsided = Math.abs(signs.toneBalanceDb) > lopsidedDb
  const last = Math.min(pieces.length, endPiece + reachPieces)
  let from = 0
  const canTell = !isHidden && !isHum(signs) && Math.abs(signs.toneOffsetHz) < offTuneHzMax
  while (from < last && canTell) {
    let to = from
    while (to < pieces.length && isSpoilt(pieces[to]!)) to++
    const run = pieces.slice(from, to)
    if (
      run.length >= (isLopsided ? piecesMinLopsided : piecesMin) &&
      to > firstPiece - reachPieces &&
      isBeside(from, to) &&
      misfitOverBesideDb(run) > misfitDbMin + chanceDb / run.length &&
      (run.length >= piecesMinBursts || !burstsCover(signs, run[0]!, run.at(-1)!))
    )
      return rangeOf(run)
    from = Math.max(to, from + 1)
  }
  const final = pieces.slice(Math.max(firstPiece, endPiece - 3), endPiece + 1)
  const isCut = final.some((piece) => piece.ebN0Db < good.ebN0Db - 4)
  const start = pieces[Math.max(0, endPiece - 1)]!.startSample
  return flagsBehind >= 8 && isCut ? { from: start, to: start + pieceSamples } : undefined
}

/** Taking out hum takes some of the signal, too. */
const isHum = ({ low, buzz }: MeasuredSigns): boolean =>
  low.mains !== undefined || buzz.some(({ share }) => share > buzzShareMin)

/** Eb/N0 and power of the better pieces; where the second signal covers all of the stretch, those before and behind it. */
function goodPieces(
  pieces: readonly Piece[],
  { first, end }: { readonly first: number; readonly end: number },
): { ebN0Db: number; power: number } | undefined {
  const heights = (of: readonly Piece[]): number[] =>
    of.map(({ ebN0Db }) => ebN0Db).toSorted((a, b) => a - b)
  const own = heights(pieces.slice(first, end))
  const all = heights(pieces)
  const ownDb = own[Math.floor(0.85 * own.length)] ?? 0
  const isOwn = ownDb >= goodDbMin
  const ebN0Db = Math.min(plentyDb, isOwn ? ownDb : (all.at(-fewPieces) ?? 0))
  if (ebN0Db < goodDbMin) return undefined
  const powers = (isOwn ? pieces.slice(first, end) : pieces)
    .filter((piece) => piece.ebN0Db > ebN0Db - 3)
    .map(({ signalPower }) => signalPower)
    .toSorted((a, b) => a - b)
  return { ebN0Db, power: powers[powers.length >> 1]! }
}

/** So many good pieces, 80 ms, are a signal. */
const fewPieces = 4

/** Clicks or crashes explain it: something loud in each 20 ms. */
function burstsCover({ bursts }: Signs, from: Piece, to: Piece): boolean {
  const [start, end] = [from.startSample, to.startSample + pieceSamples]
  const covered = bursts.filter((one) => one.lastSample >= start && one.firstSample <= end)
  return (
    covered.length >= (end - start) / (2 * pieceSamples) ||
    covered.some((one) => one.lastSample - one.firstSample > 2 * crashSamples)
  )
}
