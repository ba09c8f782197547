// The flags before a second sender's frame, heard in the midst of the first one's: that tells two signals from all else, also where
// much else is wrong, and when the second began.
import type { SampleRange } from './audioSigns.js'
import { rhythmWindows } from './flagRhythm.js'
import type { MeasuredSigns } from './signs.js'
import type { Timeline } from './timeline.js'
import { timingChange } from './timingLine.js'

/** 107 ms: preambles are longer, and of so much that is no flags 0.42 repeats itself at most (recordings of test/channel/lostFrames.ts). */
const secondFlagCount = 16
const secondShareMin = 0.5
/** Before it the first one's frame must have been heard, for so many pieces, 20 ms each: less of it repeats itself. */
const ownFlagCount = 8
const frameShareMax = 0.4
const framePieces = 3
/** So good, or so far below the better ones. */
const frameDbMin = 3
const frameDbBelow = 6

/** The second one may have ended the stretch: 0.2 s; then its timing is another, in symbols. */
const behindSamples = 2400
const timingMin = 0.1

export function secondFlags(signs: MeasuredSigns, timeline: Timeline): SampleRange | undefined {
  const { pieces, rhythm, line, toSample } = signs
  const { first, end, goodDb } = timeline
  const own = rhythmWindows(rhythm, ownFlagCount)
  const isFrame = (at: number): boolean => {
    const { ebN0Db, startSample } = pieces[at]!
    const share = own.share[own.windowAt(startSample)] ?? 1
    return ebN0Db > Math.max(frameDbMin, goodDb - frameDbBelow) && share < frameShareMax
  }
  let heard = 0
  let at = first
  while (at < end && heard < framePieces) heard += isFrame(at++) ? 1 : 0
  if (heard < framePieces) return undefined
  const second = rhythmWindows(rhythm, secondFlagCount)
  const heardUntil = pieces[at - 1]!.startSample
  const last = Math.min(second.share.length, second.windowAt(toSample + behindSamples))
  for (let window = second.windowAt(heardUntil); window < last; window++) {
    const from = second.sampleOf(window)
    // Behind the stretch the same sender may go on.
    const isOther = from < toSample || timingChange(line, toSample, from) > timingMin
    if (second.share[window]! > secondShareMin && isOther)
      return { from, to: pieces[end - 1]!.startSample }
  }
  return undefined
}
