import type { Random } from '../../dsp/channel/gaussian.js'

/** A complex gain for each sample: real and imaginary part. */
export interface FadingGain {
  readonly re: Float64Array
  readonly im: Float64Array
}

/**
 * Flat Rayleigh fading of mean power 1: many scattered waves that arrive from all sides of a moving antenna.
 * Its autocorrelation is J0(2 pi dopplerHz t).
 * @param dopplerHz speed over wavelength; 0 gives one random gain for the whole signal
 * @see R. H. Clarke, A Statistical Theory of Mobile-Radio Reception, 1968; W. C. Jakes, Microwave Mobile
 * Communications, 1974 (sum of sinusoids; angles and phases drawn at random)
 */
export function rayleighFading(
  sampleCount: number,
  dopplerHz: number,
  sampleRateHz: number,
  random: Random,
): FadingGain {
  const re = new Float64Array(sampleCount)
  const im = new Float64Array(sampleCount)
  const amplitude = 1 / Math.sqrt(waveCount)
  for (let wave = 0; wave < waveCount; wave++) {
    const arrival = (2 * Math.PI * (wave + random())) / waveCount
    const step = (2 * Math.PI * dopplerHz * Math.cos(arrival)) / sampleRateHz
    const start = 2 * Math.PI * random()
    for (let index = 0; index < sampleCount; index++) {
      const phase = start + step * index
      re[index]! += amplitude * Math.cos(phase)
      im[index]! += amplitude * Math.sin(phase)
    }
  }
  return { re, im }
}

const waveCount = 24
