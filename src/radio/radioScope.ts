import { createLevelMeter } from '../../dsp/measure/levelMeter.js'
import { createSpectrumRows } from '../../dsp/measure/spectrumRows.js'
import type { Receiver } from '../../dsp/modem/receivedFrame.js'
import { createResampler } from '../../dsp/resample/resampler.js'
import type { Clock } from '../runtime/clock.js'
import { damagedCauses } from './packetAdvice.js'
import { queueTeller } from './queueTeller.js'
import type { RadioReport, WatchWish } from './radioWatch.js'
import type { Waiting } from './transmitQueue.js'

/** Looks at a radio's audio, receiver and queue for those who watch; it is there only as long as somebody does. */
export interface RadioScope {
  /** A block that the receiver has had, and how many samples that made in all. */
  push(block: Float32Array, sampleCount: number): void
  carrier(busy: boolean): void
}

export interface RadioScopeOptions {
  readonly clock: Clock
  readonly sampleRateHz: number
  readonly wish: WatchWish
  /** the present one: a receiver may be made anew */
  readonly receiver: () => Receiver
  readonly waiting: () => readonly Waiting[]
  readonly tell: (report: RadioReport) => void
}

const listenRateHz = 12_000

export function createRadioScope(options: RadioScopeOptions): RadioScope {
  const { clock, sampleRateHz, wish, tell } = options
  const rows = wish.spectrum ? createSpectrumRows(sampleRateHz) : undefined
  const resampler = wish.audio
    ? createResampler({ fromHz: sampleRateHz, toHz: listenRateHz })
    : undefined
  const meter = createLevelMeter(sampleRateHz)
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

  return {
    push(block, sampleCount) {
      const nowWallMs = clock.wallMs()
      const wallOf = (agoSamples: number): number =>
        Math.round(nowWallMs - (agoSamples * 1000) / sampleRateHz)
      pushed += block.length
      for (const { levels, endSample } of rows?.push(block) ?? [])
        tell({ kind: 'row', atWallMs: wallOf(pushed - endSample), levels })
      for (const { firstSample, lastSample, ...measured } of options.receiver().takeDamaged()) {
        const fromWallMs = wallOf(sampleCount - firstSample)
        tell({
          kind: 'damaged',
          fromWallMs,
          toWallMs: wallOf(sampleCount - lastSample),
          ...measured,
          // How much of it was clipped is not known here.
          cause: damagedCauses(measured, 0).join('; '),
        })
      }
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
