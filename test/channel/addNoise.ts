import { gaussian, type Random } from '../../dsp/channel/gaussian.js'

/** Samples plus white Gaussian noise of that RMS. */
export function addNoise(samples: Float32Array, rms: number, random: Random): Float32Array {
  const next = gaussian(random)
  return samples.map((sample) => sample + rms * next())
}
