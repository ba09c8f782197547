import { causeKindNames, causeTexts } from '../../dsp/causes/causeWords.js'
import { createLossWatch, type LostFrame } from '../../dsp/causes/lossWatch.js'
import type { Span } from '../../dsp/causes/nearMisses.js'
import { createLevelMeter } from '../../dsp/measure/levelMeter.js'
import { createSpectrumRows } from '../../dsp/measure/spectrumRows.js'
import type { ReceivedFrame, Receiver } from '../../dsp/modem/receivedFrame.js'
import { createResampler } from '../../dsp/resample/resampler.js'
import type { Clock } from '../runtime/clock.js'
import { queueTeller } from './queueTeller.js'
import type { RadioReport, WatchWish } from './radioWatch.js'
import type { Waiting } from './transmitQueue.js'

/** Looks at a radio's audio, receiver and queue for those who watch; it is there only as long as somebody does. */
export interface RadioScope {
  /** A block that the receiver has had, how many samples that made in all, and the frames that came of it. */
  push(block: Float32Array, sampleCount: number, frames: readonly ReceivedFrame[]): void
  carrier(busy: boolean): void
}

export interface RadioScopeOptions {
  readonly clock: Clock
  readonly sampleRateHz: number
  readonly wish: WatchWish
  /** the transmitter is on */
  readonly isKeyed: () => boolean
  /** the present one: a receiver may be made anew */
  readonly receiver: () => Receiver
  readonly waiting: () => readonly Waiting[]
  readonly tell: (report: RadioReport) => void
}

const listenRateHz = 12_000
/** Stretches that are looked into at once. */
const damagedMax = 4

export function createRadioScope(options: RadioScopeOptions): RadioScope {
  const { clock, sampleRateHz, wish, tell } = options
  const rows = wish.spectrum ? createSpectrumRows(sampleRateHz) : undefined
  const resampler = wish.audio
    ? createResampler({ fromHz: sampleRateHz, toHz: listenRateHz })
    : undefined
  const meter = createLevelMeter(sampleRateHz)
  const losses = createLossWatch({ sampleRateHz, findsAll: false })
  const queue = queueTeller(clock, options.waiting, tell)
  let metered = 0
  let pushed = 0
  // What was damaged before anybody looked is of no moment that could be told.
  options.receiver().takeDamaged()

  const tellReading = (atWallMs: number): void => {
    const { rmsDbfs, peakDbfs, clippedShare } = meter.read()
    meter.reset()
    metered = 0
    const { frames, repaired, fcsRejected } = options.receiver().counters
    const counts = { readCount: frames, repairedCount: repaired, damagedCount: fcsRejected }
    tell({ kind: 'reading', atWallMs, rmsDbfs, peakDbfs, clippedShare, ...counts })
  }

  const waiting: { frames: ReceivedFrame[]; damaged: Span[] } = { frames: [], damaged: [] }
  /** The receiver may have been there, or be made anew: its samples count from elsewhere. */
  const lostIn = (
    block: Float32Array,
    sampleCount: number,
    frames: readonly ReceivedFrame[],
  ): LostFrame[] => {
    losses.push(block)
    const ahead = sampleCount - losses.sampleCount
    const here = <One extends Span>(one: One): One => ({
      ...one,
      firstSample: one.firstSample - ahead,
      lastSample: one.lastSample - ahead,
    })
    waiting.frames.push(...frames.map(here))
    waiting.damaged.push(...options.receiver().takeDamaged().map(here))
    // It takes some tens of milliseconds: never while the transmitter is keyed.
    if (options.isKeyed()) return []
    return losses
      .take(waiting.frames.splice(0), waiting.damaged.splice(0).slice(-damagedMax))
      .map((lost) => ({
        ...lost,
        firstSample: lost.firstSample + ahead,
        lastSample: lost.lastSample + ahead,
      }))
  }

  return {
    push(block, sampleCount, frames) {
      const nowWallMs = clock.wallMs()
      const wallOf = (agoSamples: number): number =>
        Math.round(nowWallMs - (agoSamples * 1000) / sampleRateHz)
      pushed += block.length
      for (const { levels, endSample } of rows?.push(block) ?? [])
        tell({ kind: 'row', atWallMs: wallOf(pushed - endSample), levels })
      for (const lost of lostIn(block, sampleCount, frames))
        tell({
          kind: 'damaged',
          fromWallMs: wallOf(sampleCount - lost.firstSample),
          toWallMs: wallOf(sampleCount - lost.lastSample),
          ...{ levelDbfs: lost.levelDbfs, toneBalanceDb: lost.toneBalanceDb },
          cause: causeTexts(lost.causes).join('; '),
          causeKinds: causeKindNames(lost.causes),
        })
      if (resampler !== undefined) tell({ kind: 'audio', samples: pcm(resampler.process(block)) })
      meter.push(block)
      metered += block.length
      if (metered >= sampleRateHz) tellReading(nowWallMs)
      queue.look()
    },
    carrier: (busy) => tell({ kind: 'carrier', atWallMs: clock.wallMs(), busy }),
  }
}

const pcm = (samples: Float32Array): Int16Array =>
  Int16Array.from(samples, (sample) => Math.round(32767 * Math.max(-1, Math.min(1, sample))))
