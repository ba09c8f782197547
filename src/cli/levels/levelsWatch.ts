import type { LevelReading } from '../../../dsp/measure/levelMeter.js'
import type { Modem } from '../../../dsp/modem/modems.js'
import type { ReceivedFrame } from '../../../dsp/modem/receivedFrame.js'
import { adviseOnLevels } from './levelsAdvice.js'
import { createLevelsMeter } from './levelsMeter.js'
import type { LevelsReading } from './levelsView.js'

/** Meter and receiver on one input. */
export interface LevelsWatch {
  /** @returns frames that became complete */
  push(block: Float32Array): ReceivedFrame[]
  finish(): ReceivedFrame[]
  /** What came since the last reading, with advice from the last ten seconds and the latest frames. */
  read(): LevelsReading
  /** As it is now: the last ten seconds; the next reading is not shortened by it. */
  now(): LevelsReading
  /** What came in all. */
  readTotal(): LevelsReading
  /** audio so far */
  readonly atS: number
  readonly sinceReadingS: number
}

/** Advice follows the latest frames only, so that it changes with the knob that is being turned. */
const framesKept = 20

export function createLevelsWatch(options: {
  readonly title: string
  readonly sampleRateHz: number
  readonly modem: Modem
}): LevelsWatch {
  const { title, sampleRateHz, modem } = options
  const meter = createLevelsMeter(sampleRateHz)
  const receiver = modem.createReceiver({ sampleRateHz, repair: 'careful' })
  const pieceSamples = Math.max(1, Math.round(0.02 * sampleRateHz))
  const frames: ReceivedFrame[] = []
  let samples = 0
  let samplesRead = 0
  const atS = (): number => samples / sampleRateHz

  const take = (heard: ReceivedFrame[]): ReceivedFrame[] => {
    frames.push(...heard)
    frames.splice(0, frames.length - framesKept)
    return heard
  }
  const reading = (levels: LevelReading, base: LevelReading): LevelsReading => {
    const last = frames.at(-1)
    const spectrum = meter.spectrum(12)
    const heard = frames.map(({ quality }) => quality)
    return {
      title,
      atS: atS(),
      levels,
      base,
      spectrum,
      channelBusy: receiver.channelBusy,
      frameCount: receiver.counters.frames,
      lastFrame: last && { frame: last, atS: last.lastSample / sampleRateHz },
      advice: adviseOnLevels({
        levels: base,
        // Fine enough to tell 50 Hz from 60.
        spectrum: meter.spectrum(3),
        frames: heard,
        bitRate: modem.bitRate,
      }),
    }
  }

  return {
    push(block) {
      const heard: ReceivedFrame[] = []
      // In pieces that are short beside a packet, so that each is noise or signal.
      for (let from = 0; from < block.length; from += pieceSamples) {
        const piece = block.subarray(from, from + pieceSamples)
        samples += piece.length
        const before = receiver.channelBusy
        heard.push(...receiver.push(piece))
        meter.push(piece, before || receiver.channelBusy)
      }
      return take(heard)
    },
    finish: () => take(receiver.finish()),
    read() {
      samplesRead = samples
      return reading(meter.takeLatest(), meter.recent())
    },
    now: () => reading(meter.recent(), meter.recent()),
    readTotal: () => reading(meter.total(), meter.total()),
    get atS() {
      return atS()
    },
    get sinceReadingS() {
      return (samples - samplesRead) / sampleRateHz
    },
  }
}
