/** H(z) = (b0 + b1 z^-1 + b2 z^-2) / (1 + a1 z^-1 + a2 z^-2) */
export interface Biquad {
  readonly b: readonly [number, number, number]
  readonly a: readonly [number, number]
}

/** Runs the sections one after the other over a whole signal, from rest. */
export function filterBiquads(samples: Float32Array, sections: readonly Biquad[]): Float32Array {
  let signal = Float64Array.from(samples)
  for (const section of sections) signal = runSection(signal, section)
  return Float32Array.from(signal)
}

/**
 * Butterworth low-pass or high-pass, 3 dB down at the corner.
 * @param order even
 * @see R. Bristow-Johnson, Cookbook formulae for audio equalizer biquad filter coefficients, with the Q of each pole
 * pair of the Butterworth polynomial (both from memory; checked in the tests against |H|^2 = 1 / (1 + (f/fc)^2n))
 */
export function butterworth(
  kind: 'lowPass' | 'highPass',
  order: 2 | 4 | 6 | 8,
  cornerHz: number,
  sampleRateHz: number,
): Biquad[] {
  const angle = (2 * Math.PI * cornerHz) / sampleRateHz
  const cosine = Math.cos(angle)
  return Array.from({ length: order / 2 }, (_, pair) => {
    const q = 1 / (2 * Math.cos((Math.PI * (2 * pair + 1)) / (2 * order)))
    const alpha = Math.sin(angle) / (2 * q)
    const scale = 1 / (1 + alpha)
    const middle = kind === 'lowPass' ? 1 - cosine : -(1 + cosine)
    const outer = Math.abs(middle) / 2
    return {
      b: [outer * scale, middle * scale, outer * scale],
      a: [-2 * cosine * scale, (1 - alpha) * scale],
    }
  })
}

function runSection(samples: Float64Array, { b, a }: Biquad): Float64Array<ArrayBuffer> {
  const output = new Float64Array(samples.length)
  // Transposed direct form II.
  let state1 = 0
  let state2 = 0
  for (let index = 0; index < samples.length; index++) {
    const x = samples[index]!
    const y = b[0] * x + state1
    state1 = b[1] * x - a[0] * y + state2
    state2 = b[2] * x - a[1] * y
    output[index] = y
  }
  return output
}
