// Audio of symbols that lie where they are put, in fractions of samples.
import { toneSums } from '../../../../dsp/modem/quality/symbolCorrelation.js'
import type { TonePair } from '../../../../dsp/modem/quality/timingEstimate.js'
import { seededRandom } from '../../../../src/runtime/random.js'

const sampleRateHz = 12_000
/** where the first symbol begins, samples */
export const start = 60

export const randomLevels = (count: number, seed = 48): Uint8Array => {
  const random = seededRandom(seed)
  return Uint8Array.from({ length: count }, () => (random() < 0.5 ? 0 : 1))
}

export interface Sent {
  readonly samplesPerSymbol?: number
  readonly startSample?: number
  readonly spaceGain?: number
  readonly spaceRadians?: number
  readonly offsetHz?: number
}

/** Continuous phase; sample n stands for the moment n. What comes before and behind is silence. */
export function audioOf(levels: Uint8Array, sent: Sent = {}): Float32Array {
  const { samplesPerSymbol = 10, startSample = start, offsetHz = 0 } = sent
  const { spaceGain = 1, spaceRadians = 0 } = sent
  const end = startSample + levels.length * samplesPerSymbol
  const audio = new Float32Array(Math.ceil(end) + 60)
  let turnsBefore = 0
  for (const [symbol, level] of levels.entries()) {
    const from = startSample + symbol * samplesPerSymbol
    const cyclesPerSample = ((level === 1 ? 1200 : 2200) + offsetHz) / sampleRateHz
    const [gain, radians] = level === 1 ? [1, 0] : [spaceGain, spaceRadians]
    for (let at = Math.ceil(from); at < from + samplesPerSymbol; at++)
      audio[at] =
        0.5 * gain * Math.sin(2 * Math.PI * (turnsBefore + cyclesPerSample * (at - from)) + radians)
    turnsBefore += cyclesPerSample * samplesPerSymbol
  }
  return audio
}

export const pair = (audio: Float32Array, offsetHz = 0): TonePair => ({
  mark: toneSums(audio, 1200 + offsetHz),
  space: toneSums(audio, 2200 + offsetHz),
})
