// Emphasis of FM voice radio: 6 dB per octave, as a first-order section 1 + s*tau and its inverse.
// Formula: any text on FM broadcasting and land mobile radio, for example H. Taub, D. L. Schilling, Principles of
// Communication Systems, on pre-emphasis (from memory). Bilinear transform, pre-warped at the 1 kHz that levels refer to.
import { type Biquad, filterBiquads } from './iir.js'

/**
 * Time constants, seconds. Voice radio follows 6 dB per octave over the whole voice band, which a corner at its
 * lower end (300 Hz) gives: 5.1 dB from 1200 to 2200 Hz. The other two are broadcasting's.
 */
export const emphasisSeconds = {
  voice: 1 / (2 * Math.PI * 300),
  broadcast75: 75e-6,
  broadcast50: 50e-6,
} as const

export interface EmphasisOptions {
  readonly timeConstantSeconds: number
  readonly sampleRateHz: number
}

/** Lifts high tones; unity gain at 1 kHz. Flattens out at five times the voice band, as real circuits do. */
export function preEmphasis(samples: Float32Array, options: EmphasisOptions): Float32Array {
  return filterBiquads(samples, [normalised(emphasisSection(options), options.sampleRateHz)])
}

/** The inverse of preEmphasis, sample for sample. */
export function deEmphasis(samples: Float32Array, options: EmphasisOptions): Float32Array {
  const section = normalised(emphasisSection(options), options.sampleRateHz)
  const [b0, b1] = section.b
  return filterBiquads(samples, [{ b: [1 / b0, section.a[0] / b0, 0], a: [b1 / b0, 0] }])
}

const referenceHz = 1000
const flatAboveHz = 15_000

function emphasisSection({ timeConstantSeconds, sampleRateHz }: EmphasisOptions): Biquad {
  const warp = (2 * Math.PI * referenceHz) / Math.tan((Math.PI * referenceHz) / sampleRateHz)
  const zero = timeConstantSeconds * warp
  const pole = warp / (2 * Math.PI * flatAboveHz)
  const scale = 1 / (1 + pole)
  return { b: [(1 + zero) * scale, (1 - zero) * scale, 0], a: [(1 - pole) * scale, 0] }
}

function normalised(section: Biquad, sampleRateHz: number): Biquad {
  const angle = (2 * Math.PI * referenceHz) / sampleRateHz
  const magnitude = (c0: number, c1: number): number =>
    Math.hypot(c0 + c1 * Math.cos(angle), c1 * Math.sin(angle))
  const gain = magnitude(1, section.a[0]) / magnitude(section.b[0], section.b[1])
  return { b: [section.b[0] * gain, section.b[1] * gain, 0], a: section.a }
}
