// What a sound card and its cable do to audio.

export interface ConverterOptions {
  /** gain before anything else, dB */
  readonly gainDb?: number
  /** mains hum, a sine */
  readonly hum?: { readonly hz: number; readonly amplitude: number }
  /** share of full scale */
  readonly dcOffset?: number
  /** limit beyond which the waveform is cut off; default 1 */
  readonly clipLevel?: number
  /** resolution of a quantiser of this many bits, rounding to nearest; default none */
  readonly bits?: number
}

/**
 * Gain, hum, DC, clipping and quantisation, in that order.
 * @returns samples within ±clipLevel
 * @throws RangeError for a resolution out of range
 */
export function convert(
  samples: Float32Array,
  sampleRateHz: number,
  options: ConverterOptions,
): Float32Array {
  const { hum, dcOffset = 0, clipLevel = 1, bits } = options
  if (bits !== undefined && !(Number.isInteger(bits) && bits >= 1 && bits <= 32))
    throw new RangeError(`converter: got ${bits} bits, expected a whole number from 1 to 32`)
  const gain = 10 ** ((options.gainDb ?? 0) / 20)
  const humStep = hum === undefined ? 0 : (2 * Math.PI * hum.hz) / sampleRateHz
  const humAmplitude = hum?.amplitude ?? 0
  const levels = bits === undefined ? undefined : 2 ** (bits - 1)
  return samples.map((sample, index) => {
    const wanted = gain * sample + humAmplitude * Math.sin(humStep * index) + dcOffset
    const clipped = Math.min(clipLevel, Math.max(-clipLevel, wanted))
    if (levels === undefined) return clipped
    return Math.min(levels - 1, Math.round(clipped * levels)) / levels
  })
}
