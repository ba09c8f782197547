import { shapedAmplitude } from './shapedEdges.js'

export interface TestToneOptions {
  /** one frequency for a steady tone, two for a two-tone signal whose sum reaches peakLevel */
  readonly tonesHz: readonly number[]
  readonly durationMs: number
  readonly sampleRateHz: number
  /** highest amplitude of the sum, 0 to 1 of full scale */
  readonly peakLevel: number
}

/**
 * Steady test tones with raised-cosine edges, for setting levels and deviation.
 * @throws RangeError when there is no tone, or one out of range
 */
export function testTone(options: TestToneOptions): Float32Array {
  const { tonesHz, durationMs, sampleRateHz, peakLevel } = options
  if (tonesHz.length === 0 || tonesHz.some((hz) => !(hz > 0 && hz < sampleRateHz / 2)))
    throw new RangeError(`test tone: got ${tonesHz.join(', ')} Hz at ${sampleRateHz} a second`)
  const samples = new Float32Array(Math.round((durationMs * sampleRateHz) / 1000))
  const amplitude = peakLevel / tonesHz.length
  const steps = tonesHz.map((hz) => (2 * Math.PI * hz) / sampleRateHz)
  const edge = (edgeMs * sampleRateHz) / 1000
  for (let index = 0; index < samples.length; index++) {
    let sum = 0
    for (const step of steps) sum += Math.sin(step * index)
    samples[index] = amplitude * shapedAmplitude(index, samples.length, edge) * sum
  }
  return samples
}

/** Switched on faster, it would click beyond the channel (common practice, no source). */
const edgeMs = 10
