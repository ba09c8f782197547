import { clippedFrom } from '../modem/frontEnd/clippingLog.js'
import { powerDb } from '../numbers/power.js'

/** Levels in dBFS: a full-scale sine has a peak of 0 and an RMS level of -3.01. */
export interface LevelReading {
  readonly rmsDbfs: number
  readonly peakDbfs: number
  /** share of the samples at the converter's limits, 0 to 1 */
  readonly clippedShare: number
  /** mean of the samples, share of full scale */
  readonly dcOffset: number
  /**
   * RMS level of the quietest tenth of the short segments without a carrier: the noise between signals. Where every segment
   * had a carrier it is NaN.
   */
  readonly noiseFloorDbfs: number
  readonly durationS: number
}

export interface LevelMeter {
  /** @param carrier a signal is on the channel: the block says nothing about noise */
  push(block: Float32Array, carrier?: boolean): void
  /** what was heard since the last reset; silence gives -200 dBFS */
  read(): LevelReading
  reset(): void
}

/**
 * @param sampleRateHz of the blocks
 * @returns a meter whose memory does not grow: beyond ten minutes the noise floor is that of the last ten
 */
export function createLevelMeter(sampleRateHz: number): LevelMeter {
  const segmentSamples = Math.max(1, Math.round(sampleRateHz * segmentS))
  const segments = new Float64Array(segmentsKept)
  let segmentCount = 0
  let segmentPower = 0
  let inSegment = 0
  let sampleCount = 0
  let sum = 0
  let squares = 0
  let peak = 0
  let clipped = 0
  let hadCarrier = false

  return {
    push(block, carrier = false) {
      if (carrier) hadCarrier = true
      // Sums of the whole stream are variables of the closure: V8 allocates a number for each that is written there.
      let [blockSum, blockSquares, blockPeak, blockClipped, skipped] = [0, 0, peak, 0, 0]
      let power = segmentPower
      for (let index = 0; index < block.length; index++) {
        const sample = block[index]!
        const size = Math.abs(sample)
        if (!Number.isFinite(size)) {
          skipped++
          continue
        }
        const square = sample * sample
        blockSum += sample
        blockSquares += square
        power = carrier ? Number.NaN : power + square
        if (size > blockPeak) blockPeak = size
        if (size >= clippedFrom) blockClipped++
        if (++inSegment === segmentSamples) {
          // A segment that had a carrier for a part of it is left out: its power is no number.
          if (!Number.isNaN(power)) segments[segmentCount++ % segmentsKept] = power / segmentSamples
          power = 0
          inSegment = 0
        }
      }
      segmentPower = power
      sampleCount += block.length - skipped
      sum += blockSum
      squares += blockSquares
      peak = blockPeak
      clipped += blockClipped
    },
    read() {
      const count = Math.max(1, sampleCount)
      const kept = segments.slice(0, Math.min(segmentCount, segmentsKept)).sort()
      const quietest =
        kept[Math.floor(kept.length / 10)] ?? (hadCarrier ? Number.NaN : squares / count)
      return {
        rmsDbfs: powerDb(squares / count),
        peakDbfs: powerDb(peak * peak),
        clippedShare: clipped / count,
        dcOffset: sum / count,
        noiseFloorDbfs: powerDb(quietest),
        durationS: sampleCount / sampleRateHz,
      }
    },
    reset() {
      segmentCount = inSegment = sampleCount = clipped = 0
      segmentPower = sum = squares = peak = 0
      hadCarrier = false
    },
  }
}

const segmentS = 0.05
const segmentsKept = 12_000
