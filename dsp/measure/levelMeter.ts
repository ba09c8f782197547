import { clippedFrom } from '../modem/clippingLog.js'

/** Levels in dBFS: a full-scale sine has a peak of 0 and an RMS level of -3.01. */
export interface LevelReading {
  readonly rmsDbfs: number
  readonly peakDbfs: number
  /** share of the samples at the converter's limits, 0 to 1 */
  readonly clippedShare: number
  /** mean of the samples, share of full scale */
  readonly dcOffset: number
  /** RMS level of the quietest tenth of the short stretches: the noise between signals, where there are pauses */
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
  const stretchSamples = Math.max(1, Math.round(sampleRateHz * stretchS))
  const stretches = new Float64Array(stretchesKept)
  let stretchCount = 0
  let stretchPower = 0
  let inStretch = 0
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
        stretchPower += sample * sample
        if (size > peak) peak = size
        if (size >= clippedFrom) clipped++
        if (++inStretch === stretchSamples) {
          stretches[stretchCount++ % stretchesKept] = stretchPower / stretchSamples
          stretchPower = 0
          inStretch = 0
        }
      }
    },
    read() {
      const count = Math.max(1, sampleCount)
      const kept = stretches.slice(0, Math.min(stretchCount, stretchesKept)).sort()
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
      stretchCount = inStretch = sampleCount = clipped = 0
      stretchPower = sum = squares = peak = 0
    },
  }
}

const stretchS = 0.05
const stretchesKept = 12_000

const powerDb = (power: number): number => 10 * Math.log10(Math.max(power, 1e-20))
