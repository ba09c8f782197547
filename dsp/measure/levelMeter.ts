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
  /** RMS level of the quietest tenth of the short segments: the noise between signals, where there are pauses */
  readonly noiseFloorDbfs: number
  readonly durationS: number
}

export interface LevelMeter {
  push(block: Float32Array): void
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

  return {
    push(block) {
      for (let index = 0; index < block.length; index++) {
        const sample = block[index]!
        const size = Math.abs(sample)
        if (!Number.isFinite(size)) continue
        sampleCount++
        sum += sample
        squares += sample * sample
        segmentPower += sample * sample
        if (size > peak) peak = size
        if (size >= clippedFrom) clipped++
        if (++inSegment === segmentSamples) {
          segments[segmentCount++ % segmentsKept] = segmentPower / segmentSamples
          segmentPower = 0
          inSegment = 0
        }
      }
    },
    read() {
      const count = Math.max(1, sampleCount)
      const kept = segments.slice(0, Math.min(segmentCount, segmentsKept)).sort()
      const quietest = kept[Math.floor(kept.length / 10)] ?? squares / count
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
    },
  }
}

const segmentS = 0.05
const segmentsKept = 12_000
