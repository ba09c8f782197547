import { symbolRateHz } from '../modem/modulator.js'
import { gaussian, type Random } from './gaussian.js'

/** White Gaussian noise. */
export function whiteNoise(sampleCount: number, rms: number, random: Random): Float32Array {
  const next = gaussian(random)
  const noise = new Float32Array(sampleCount)
  for (let index = 0; index < sampleCount; index++) noise[index] = rms * next()
  return noise
}

/**
 * RMS of white noise for a given Eb/N0.
 * Eb = mean signal power / bit rate. N0 is the one-sided density of the audio, so the noise of a sample,
 * which fills 0 to half the sample rate, has the power N0 * sampleRateHz / 2.
 * @param signalPower mean power while the signal is there
 */
export function noiseRmsForEbN0(
  signalPower: number,
  ebN0Db: number,
  sampleRateHz: number,
  bitRate: number = symbolRateHz,
): number {
  const n0 = signalPower / bitRate / 10 ** (ebN0Db / 10)
  return Math.sqrt((n0 * sampleRateHz) / 2)
}
