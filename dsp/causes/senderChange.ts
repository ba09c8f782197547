// A signal whose tones are of another balance from some moment on is another sender's: what bends one signal bends all of it.
import { median } from '../numbers/median.js'
import type { SampleRange } from './audioSigns.js'
import { rhythmWindows } from './flagRhythm.js'
import { type Piece, pieceSamples } from './pieceFits.js'
import type { MeasuredSigns } from './signs.js'
import type { Timeline } from './timeline.js'

/** Good pieces on each side, 20 ms each. */
const piecesMin = 6
/** So far below the better ones a piece still tells its balance. */
const goodDbBelow = 6
const goodDbMin = 6
/** In flags one tone is heard for a symbol at a time: what an echo or a filter makes of it is another balance. */
const flagsShare = 0.6
/** Pieces of one signal differ by about 3 dB. */
const changeDbMin = 6
/** A tone that is as good as gone has no certain level. */
const balanceDbMax = 25

/** @returns from where the first one's tones are no longer heard to where the signal ends */
export function senderChange(
  { pieces, rhythm }: Pick<MeasuredSigns, 'pieces' | 'rhythm'>,
  { first, end, goodDb }: Timeline,
): SampleRange | undefined {
  const flags = rhythmWindows(rhythm, 8)
  const isFlags = (sample: number): boolean =>
    (flags.share[flags.windowAt(sample)] ?? 0) > flagsShare
  const good = pieces
    .slice(first, end)
    .filter(
      ({ ebN0Db, startSample }) =>
        ebN0Db > Math.max(goodDbMin, goodDb - goodDbBelow) && !isFlags(startSample),
    )
  let best: { at: number; db: number } | undefined
  for (let at = piecesMin; at + piecesMin <= good.length; at++) {
    const before = good.slice(0, at).map(balanceDb)
    const behind = good.slice(at).map(balanceDb)
    const db = Math.abs(median(behind) - median(before))
    // Of each side nearly all lie on their own side of the middle.
    const middle = (median(behind) + median(before)) / 2
    const isApart = (one: readonly number[]): boolean => {
      const side = Math.sign(median(one) - middle)
      return one.filter((value) => side * (value - middle) > 0).length > 0.85 * one.length
    }
    if (db > changeDbMin && db > (best?.db ?? 0) && isApart(before) && isApart(behind))
      best = { at, db }
  }
  if (best === undefined) return undefined
  return {
    from: good[best.at - 1]!.startSample + pieceSamples,
    to: pieces[end - 1]!.startSample + pieceSamples,
  }
}

function balanceDb({ markPower, spacePower }: Piece): number {
  const db = 10 * Math.log10(spacePower / markPower)
  return Math.max(-balanceDbMax, Math.min(balanceDbMax, db))
}
