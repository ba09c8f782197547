import { designKaiser, kaiserWindow, sinc } from '../resample/kaiser.js'

/**
 * Intermediate-frequency filter of an FM receiver at complex baseband: low-pass at half the bandwidth, unity gain at 0 Hz,
 * a noise bandwidth that is the wanted one within a per cent.
 * @returns an odd number of taps, for real and imaginary part alike; they delay by (length - 1) / 2
 * @throws RangeError when the filter does not fit the sample rate
 */
export function ifFilterTaps(bandwidthHz: number, sampleRateHz: number): Float64Array {
  if (!(sampleRateHz >= 1.6 * bandwidthHz))
    throw new RangeError(`FM: ${bandwidthHz} Hz do not fit ${sampleRateHz} samples a second`)
  const share = bandwidthHz / sampleRateHz
  const { beta, halfWidth } = designKaiser(attenuationDb, 0.25 * share)
  const taps = Float64Array.from(
    { length: 2 * halfWidth + 1 },
    (_, tap) => sinc(share * (tap - halfWidth)) * kaiserWindow((tap - halfWidth) / halfWidth, beta),
  )
  const sum = taps.reduce((total, tap) => total + tap, 0)
  return taps.map((tap) => tap / sum)
}

/**
 * RMS of white Gaussian noise, in each of the two parts before that filter, whose power behind it lies so many dB above a
 * carrier of power 1: of a variance v in each part, it passes 2 v sum(tap^2).
 */
export function noiseRmsBeforeIf(taps: Float64Array, noiseDb: number): number {
  const passed = taps.reduce((sum, tap) => sum + tap * tap, 0)
  return Math.sqrt(10 ** (noiseDb / 10) / (2 * passed))
}

const attenuationDb = 60
