// The flags before a second sender's frame, heard in the midst of the first one's: that tells two signals from all else, also where
// much else is wrong, and when the second began.
import { workingRateHz } from '../modem/frontEnd/frontEnd.js'
import { symbolRateHz } from '../modem/modulator.js'
import type { SampleRange } from './audioSigns.js'
import { rhythmWindows } from './flagRhythm.js'
import { powerOf } from './misfit.js'
import { pieceSamples } from './pieceFits.js'
import type { MeasuredSigns } from './signs.js'
import type { Timeline } from './timeline.js'
import { timingChange } from './timingLine.js'

/** 107 ms: preambles are longer, and of so much that is no flags 0.40 repeats itself so at most (500 of test/channel/usualFrame.ts). */
const secondFlagCount = 16
const secondFlagSamples = (secondFlagCount * 8 * workingRateHz) / symbolRateHz
const secondShareMin = 0.5
/** Before it the first one's frame must have been heard, for so many pieces, 20 ms each: less of it repeats itself. */
const ownFlagCount = 8
const frameShareMax = 0.4
const framePieces = 3
/** So good, or so far below the better ones. */
const frameDbMin = 3
const frameDbBelow = 6

/** Of the good pieces' power. */
const loudShareMin = 0.1

/** The second one may have ended the stretch: 0.2 s; then its timing is another, in symbols. */
const behindSamples = 2400
const timingMin = 0.1

export function secondFlags(signs: MeasuredSigns, timeline: Timeline): SampleRange | undefined {
  const { pieces, rhythm, line, toSample } = signs
  const { first, end, goodDb, goodPower } = timeline
  const own = rhythmWindows(rhythm, ownFlagCount)
  const isFrame = (at: number): boolean => {
    const { ebN0Db, startSample } = pieces[at]!
    const share = own.share[own.windowAt(startSample)] ?? 1
    return ebN0Db > Math.max(frameDbMin, goodDb - frameDbBelow) && share < frameShareMax
  }
  /** What rings on in silence repeats itself, too. */
  const isLoud = (from: number, to: number): boolean =>
    pieces.every(
      (piece) =>
        piece.startSample < from ||
        piece.startSample + pieceSamples > to ||
        powerOf(piece) > goodPower * loudShareMin,
    )
  let heard = 0
  let at = first
  while (at < end && heard < framePieces) heard += isFrame(at++) ? 1 : 0
  if (heard < framePieces) return undefined
  const second = rhythmWindows(rhythm, secondFlagCount)
  const heardUntil = pieces[at - 1]!.startSample
  const last = Math.min(second.share.length, second.windowAt(toSample + behindSamples))
  for (let window = second.windowAt(heardUntil); window < last; window++) {
    const from = second.sampleOf(window)
    // Where the stretch ends the same sender may have its closing flags, and go on behind it.
    const isWithin = from + secondFlagSamples < toSample
    const isOther = isWithin || timingChange(line, Math.min(from, toSample), from) > timingMin
    if (second.share[window]! > secondShareMin && isOther && isLoud(from, from + secondFlagSamples))
      return { from, to: Math.max(from + secondFlagSamples, pieces[end - 1]!.startSample) }
  }
  return undefined
}
