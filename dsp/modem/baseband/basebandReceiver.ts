// The receiver of 9600 bit/s: bits straight from the discriminator, scrambled.
//
//   audio -> timing, matched filter -> trellis -> descrambler -> flags and frames        first pass, 80 ms behind
//                                                                \-> fit, decide again, list     second pass
import { createResampler } from '../../resample/resampler.js'
import { createClippingLog } from '../frontEnd/clippingLog.js'
import type { Receiver, ReceiverOptions } from '../receivedFrame.js'
import { basebandWorkingRateHz } from './bandEdge.js'
import { createBasebandCarrier } from './basebandCarrier.js'
import { createBasebandFrames } from './basebandFrames.js'
import { createBasebandReports } from './basebandReports.js'
import { blockBits, createBitStream, noiseCoherence } from './bits.js'
import { createBitTrellis } from './bitTrellis.js'
import { type BlockLevels, blocksWithLevels, estimateLevels } from './blockLevels.js'
import { basebandSampleRateHzMin } from './modulateBaseband.js'

/**
 * A receiver of 9600 bit/s in flat audio. It reads FX.25, and no IL2P.
 * @throws RangeError for a sample rate outside 19200 to 192000 Hz
 */
export function createBasebandReceiver({
  sampleRateHz,
  repair,
  busyOnAnySignal = false,
}: ReceiverOptions): Receiver {
  if (!(sampleRateHz >= basebandSampleRateHzMin && sampleRateHz <= 192_000))
    throw new RangeError(
      `receiver of 9600 bit/s: got ${sampleRateHz} Hz, expected ${basebandSampleRateHzMin} to 192000 Hz`,
    )
  const resampler =
    sampleRateHz === basebandWorkingRateHz
      ? undefined
      : createResampler({ fromHz: sampleRateHz, toHz: basebandWorkingRateHz })
  const clipping = createClippingLog(2 * sampleRateHz)
  const stream = createBitStream()
  const reports = createBasebandReports(stream, clipping, sampleRateHz / basebandWorkingRateHz)
  const frames = createBasebandFrames(stream, reports, repair)
  const carrier = createBasebandCarrier(busyOnAnySignal)
  const trellis = createBitTrellis()
  const bits = new Uint8Array(blockBits)
  let [levels, before] = [emptyLevels(), emptyLevels()]
  let blocks = 0

  /** The trellis decides on the block before; noise leaves it out. */
  const decide = (): void => {
    while (blocksWithLevels(stream) > blocks) {
      estimateLevels(stream, blocks, levels)
      const isNoise = Math.max(levels.coherence, before.coherence) < noiseCoherence
      if (!isNoise) trellis.step(stream.value, blocks * blockBits, levels, bits)
      if (blocks > 0) frames.accept(bits, before, isNoise)
      ;[before, levels] = [levels, before]
      blocks++
    }
  }

  const take = (working: Float32Array): void => {
    for (let at = 0; at < working.length; at += stepSamples) {
      const part = working.subarray(at, at + stepSamples)
      stream.append(part)
      carrier.note(part, stream.latestCoherence())
      decide()
    }
  }

  return {
    push(audio) {
      const clean = finite(audio)
      clipping.append(clean)
      take(resampler === undefined ? clean : resampler.process(clean))
      return reports.take()
    },
    finish() {
      if (resampler !== undefined) take(resampler.flush())
      take(new Float32Array(lateSamplesMax))
      return reports.take()
    },
    takeDamaged: reports.takeDamaged,
    get channelBusy() {
      return carrier.busy
    },
    counters: reports.counters,
  }
}

/** A broken source may deliver NaN or infinity, which sums would never forget: silence stands in for it. */
function finite(audio: Float32Array): Float32Array {
  let sum = 0
  for (let index = 0; index < audio.length; index++) sum += audio[index]!
  return Number.isFinite(sum)
    ? audio
    : audio.map((sample) => (Number.isFinite(sample) ? sample : 0))
}

/** Samples taken at once: 5 ms, so that carrier detect follows. */
const stepSamples = 240
/** What timing, levels and trellis look ahead together, and some more. */
const lateSamplesMax = 6000

const emptyLevels = (): BlockLevels => ({ height: 0, offset: 0, coherence: 0, presence: 0 })
