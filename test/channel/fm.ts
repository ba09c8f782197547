// Frequency modulation at complex baseband and a limiter-discriminator receiver. Above its threshold it follows the
// textbook formula for the output signal-to-noise ratio; below it, the noise turns the phase once around now and then,
// which is heard as a click. Nothing here models clicks: they come out of the arithmetic.
// Source: S. O. Rice, Noise in FM Receivers, 1963; S. Haykin, Communication Systems, on noise in FM (from memory).

import { gaussian, type Random } from '../../dsp/channel/gaussian.js'
import { ifFilterTaps, noiseRmsBeforeIf } from '../../dsp/channel/ifFilter.js'
import { rayleighFading } from './fading.js'

export interface FmPathOptions {
  /** the intermediate-frequency filter must fit: at least 1.6 times its bandwidth */
  readonly sampleRateHz: number
  /** carrier power over noise power in the intermediate-frequency filter, dB */
  readonly cnrDb: number
  /** deviation that audio of amplitude 1 makes, Hz */
  readonly deviationHz: number
  /** noise bandwidth of the intermediate-frequency filter, Hz */
  readonly ifBandwidthHz: number
  /** how far the sender's carrier is off, Hz: a shift of the discriminator's mean */
  readonly carrierOffsetHz?: number
  /** Rayleigh fading of the carrier */
  readonly fadingDopplerHz?: number
  /** sample ranges in which the carrier is on; outside, the open squelch lets hiss through. Default: always on */
  readonly keyed?: readonly { readonly start: number; readonly end: number }[]
  readonly random: Random
}

/**
 * Audio through an FM transmitter, a radio channel and an FM receiver.
 * @param audio modulating signal, before any emphasis of the receiver
 * @returns discriminator audio of the same length, at the same scale (deviationHz gives 1); hiss and clicks go far beyond ±1
 * @throws RangeError when the filter does not fit the sample rate
 */
export function simulateFmPath(audio: Float32Array, options: FmPathOptions): Float32Array {
  const { sampleRateHz, deviationHz, ifBandwidthHz } = options
  const taps = ifFilterTaps(ifBandwidthHz, sampleRateHz)
  const { re, im } = receivedBaseband(audio, options, taps)
  const filteredRe = convolveCentred(re, taps)
  const filteredIm = convolveCentred(im, taps)
  return discriminate(filteredRe, filteredIm, sampleRateHz / (2 * Math.PI * deviationHz))
}

interface Baseband {
  readonly re: Float64Array
  readonly im: Float64Array
}

/** The carrier, faded and keyed, with noise; carrier power 1. */
function receivedBaseband(
  audio: Float32Array,
  options: FmPathOptions,
  taps: Float64Array,
): Baseband {
  const { sampleRateHz, deviationHz, carrierOffsetHz = 0, random } = options
  const re = new Float64Array(audio.length)
  const im = new Float64Array(audio.length)
  const on = keyedSamples(audio.length, options.keyed)
  const fading =
    options.fadingDopplerHz === undefined
      ? undefined
      : rayleighFading(audio.length, options.fadingDopplerHz, sampleRateHz, random)
  const noiseRms = noiseRmsBeforeIf(taps, -options.cnrDb)
  const noise = gaussian(random)
  let phase = 2 * Math.PI * random()
  for (let index = 0; index < audio.length; index++) {
    phase += (2 * Math.PI * (deviationHz * audio[index]! + carrierOffsetHz)) / sampleRateHz
    const carrierRe = on[index]! * Math.cos(phase)
    const carrierIm = on[index]! * Math.sin(phase)
    const gainRe = fading === undefined ? 1 : fading.re[index]!
    const gainIm = fading === undefined ? 0 : fading.im[index]!
    re[index] = carrierRe * gainRe - carrierIm * gainIm + noiseRms * noise()
    im[index] = carrierRe * gainIm + carrierIm * gainRe + noiseRms * noise()
  }
  return { re, im }
}

function keyedSamples(sampleCount: number, keyed: FmPathOptions['keyed']): Uint8Array {
  const on = new Uint8Array(sampleCount)
  if (keyed === undefined) return on.fill(1)
  for (const { start, end } of keyed) on.fill(1, Math.max(0, start), Math.max(0, end))
  return on
}

function convolveCentred(signal: Float64Array, taps: Float64Array): Float64Array {
  const half = (taps.length - 1) / 2
  const padded = new Float64Array(signal.length + 2 * half)
  padded.set(signal, half)
  const output = new Float64Array(signal.length)
  for (let index = 0; index < signal.length; index++) {
    let sum = 0
    for (let tap = 0; tap < taps.length; tap++) sum += taps[tap]! * padded[index + tap]!
    output[index] = sum
  }
  return output
}

/** The angle between neighbouring samples. */
function discriminate(re: Float64Array, im: Float64Array, scale: number): Float32Array {
  const audio = new Float32Array(re.length)
  for (let index = 1; index < re.length; index++) {
    const cross = im[index]! * re[index - 1]! - re[index]! * im[index - 1]!
    const along = re[index]! * re[index - 1]! + im[index]! * im[index - 1]!
    audio[index] = scale * Math.atan2(cross, along)
  }
  return audio
}
