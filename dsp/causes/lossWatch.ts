// Stands beside a receiver, gets the same audio, and says why what it lost was lost.
import { createAudioHistory } from '../modem/frontEnd/audioHistory.js'
import { symbolRateHz } from '../modem/modulator.js'
import { asHeard } from '../modem/quality/asHeard.js'
import { type Cause, causesOf, slopeCauses } from './causes.js'
import { emptyView, type LossView, lossView } from './lossView.js'
import { measureSigns } from './measureSigns.js'
import { createNearMisses, type Span } from './nearMisses.js'
import { createSignalFinder } from './signalFinder.js'

/** A signal that looked like a frame and was not read. */
export interface LostFrame extends Omit<Span, 'at9600'> {
  /** RMS level of its audio, noise included */
  readonly levelDbfs: number
  readonly toneBalanceDb: number
  readonly toneOffsetHz: number
  readonly symbolRateErrorPpm: number
  readonly ebN0Db: number
  readonly clippedShare: number
  readonly preambleFlags: number
  readonly causes: readonly Cause[]
  readonly view: LossView
}

/** A frame that was read. */
export interface ReadFrame extends Span {
  readonly quality: { readonly preambleFlags: number }
}

export interface LossWatch {
  /** samples pushed so far */
  readonly sampleCount: number
  /** what is given to the receiver, too */
  push(block: Float32Array): void
  /**
   * What the receiver made of all that was pushed.
   * @returns what was lost, a second or so after it ended
   */
  take(frames: readonly ReadFrame[], damaged: readonly Span[]): LostFrame[]
  /** Ends the stream. */
  finish(): LostFrame[]
}

export interface LossWatchOptions {
  readonly sampleRateHz: number
  /** looks for signals that the receiver told nothing of, too: that costs several times what the receiver does */
  readonly findsAll: boolean
}

/** Longer stretches are looked at in their first part: 3 s hold a frame of 400 octets. */
const stretchSMax = 3
/** What is looked at before and behind a stretch. */
const marginS = 0.5
/** How long after its end a lost frame is told of: slower detectors, joint decisions and what comes behind it. */
const waitS = 1
/** A block of a recording may be 2 s long. */
const historyS = stretchSMax + 2 * marginS + waitS + 4
const readKeptS = 20
/** Of less nothing can be told: the rest of it is no longer kept, or has not come. */
const shortestS = 0.08
/** Beyond this it is no audio, as in the front end. */
const largestSample = 1e6

export function createLossWatch({ sampleRateHz, findsAll }: LossWatchOptions): LossWatch {
  const historySamples = Math.ceil(historyS * sampleRateHz)
  const history = createAudioHistory(historySamples)
  const misses = createNearMisses(readKeptS * sampleRateHz)
  const finder = findsAll ? createSignalFinder(sampleRateHz) : undefined
  const margin = Math.round(marginS * sampleRateHz)

  const explained = ({ firstSample, lastSample, at9600 }: Span): LostFrame[] => {
    if (at9600 !== undefined) return [lostAt9600({ firstSample, lastSample, ...at9600 })]
    const end = Math.min(history.end, lastSample, firstSample + stretchSMax * sampleRateHz)
    // It may have begun before anybody watched, or be no longer there.
    const kept = Math.max(0, history.end - historySamples)
    const from = Math.max(kept, firstSample - margin)
    if (end - Math.max(from, firstSample) < shortestS * sampleRateHz) return []
    const signs = measureSigns({
      // A broken source may deliver what is no number: silence stands in for it.
      audio: history
        .slice(from, Math.min(history.end, end + margin))
        .map((sample) => (Math.abs(sample) <= largestSample ? sample : 0)),
      sampleRateHz,
      firstSample: Math.max(0, firstSample - from),
      lastSample: Math.max(1, end - from),
    })
    // The level is that of the audio as it came; the tones were measured behind the high-pass.
    const { toneBalanceDb } = asHeard(signs)
    const before = signs.before && asHeard({ ...signs.before, levelDbfs: signs.levelDbfs })
    const startS = Math.max(0, from - firstSample) / sampleRateHz
    const placed = causesOf({ ...signs, toneBalanceDb, before }, startS)
    const lost = {
      ...{ firstSample, lastSample, toneBalanceDb },
      levelDbfs: signs.levelDbfs,
      toneOffsetHz: signs.toneOffsetHz,
      symbolRateErrorPpm: signs.symbolRateErrorPpm,
      ebN0Db: signs.ebN0Db,
      clippedShare: signs.clippedShare,
      preambleFlags: signs.flagsBefore,
      causes: placed.map(({ cause }) => cause),
      view: lossView(signs, placed, startS),
    }
    return [lost]
  }
  /** Flags that one detector misread, as where they are off tune, are no frame before the one that another read. */
  const withPreamble = ({ firstSample, lastSample, quality }: ReadFrame): Span => ({
    firstSample: firstSample - (8 * quality.preambleFlags * sampleRateHz) / symbolRateHz,
    lastSample,
  })
  return {
    get sampleCount() {
      return history.end
    },
    push(block) {
      history.append(block)
      for (const span of finder?.push(block) ?? []) misses.signal(span)
    },
    take(frames, damaged) {
      for (const frame of frames) misses.read(withPreamble(frame))
      for (const span of damaged) misses.damaged(span)
      return misses.release(history.end - waitS * sampleRateHz).flatMap(explained)
    },
    finish() {
      for (const span of finder?.finish() ?? []) misses.signal(span)
      return misses.release(Number.POSITIVE_INFINITY).flatMap(explained)
    },
  }
}

/** At 9600 bit/s only the two ends of the band are looked at. */
const lostAt9600 = (
  measured: Pick<LostFrame, 'firstSample' | 'lastSample' | 'levelDbfs' | 'toneBalanceDb'>,
): LostFrame => ({
  ...measured,
  ...{ toneOffsetHz: 0, symbolRateErrorPpm: 0, ebN0Db: Number.NaN, clippedShare: 0 },
  preambleFlags: 0,
  causes: slopeCauses(measured.toneBalanceDb),
  view: emptyView,
})
