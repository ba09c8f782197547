import { symbolRateHz } from '../modem/modulator.js'
import { gaussian, type Random } from './gaussian.js'

/** Mean power of samples, full scale ±1. */
export function meanPower(samples: Float32Array): number {
  let sum = 0
  for (const sample of samples) sum += sample * sample
  return samples.length === 0 ? 0 : sum / samples.length
}

/** White Gaussian noise. */
export function whiteNoise(sampleCount: number, rms: number, random: Random): Float32Array {
  const next = gaussian(random)
  const noise = new Float32Array(sampleCount)
  for (let index = 0; index < sampleCount; index++) noise[index] = rms * next()
  return noise
}

/**
 * RMS of white noise for a given Eb/N0.
 * Eb = mean signal power / symbol rate. N0 is the one-sided density of the audio, so the noise of a sample,
 * which fills 0 to half the sample rate, has the power N0 * sampleRateHz / 2.
 * @param signalPower mean power while the signal is there
 */
export function noiseRmsForEbN0(signalPower: number, ebN0Db: number, sampleRateHz: number): number {
  const n0 = signalPower / symbolRateHz / 10 ** (ebN0Db / 10)
  return Math.sqrt((n0 * sampleRateHz) / 2)
}

/** Samples plus white Gaussian noise of that RMS. */
export function addNoise(samples: Float32Array, rms: number, random: Random): Float32Array {
  const next = gaussian(random)
  return samples.map((sample) => sample + rms * next())
}
