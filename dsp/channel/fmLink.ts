// The two ends of an FM channel as streams, for a channel that many stations share: carriers add up at complex baseband,
// so that two at once disturb each other and the stronger one captures the receiver, as on the air.
// The whole-recording form, with the formulas' sources, is fm.ts.
import { gaussian, type Random } from './gaussian.js'
import { ifFilterTaps, noiseRmsBeforeIf } from './ifFilter.js'

/** A segment of complex baseband; both parts have the same length. */
export interface BasebandBlock {
  readonly re: Float64Array
  readonly im: Float64Array
}

export interface FmTransmitterOptions {
  readonly sampleRateHz: number
  /** deviation that audio of amplitude 1 makes, Hz */
  readonly deviationHz: number
  /** how far the carrier is off its channel, Hz */
  readonly carrierOffsetHz?: number
}

/** A carrier of power 1 whose phase goes on from block to block. */
export interface FmTransmitter {
  /** @param audio full scale ±1; zeros make a bare carrier */
  modulate(audio: Float32Array): BasebandBlock
}

export function createFmTransmitter(options: FmTransmitterOptions): FmTransmitter {
  const { sampleRateHz, deviationHz, carrierOffsetHz = 0 } = options
  const perHz = (2 * Math.PI) / sampleRateHz
  let phase = 0
  return {
    modulate(audio) {
      const re = new Float64Array(audio.length)
      const im = new Float64Array(audio.length)
      for (let index = 0; index < audio.length; index++) {
        phase = (phase + perHz * (deviationHz * audio[index]! + carrierOffsetHz)) % (2 * Math.PI)
        re[index] = Math.cos(phase)
        im[index] = Math.sin(phase)
      }
      return { re, im }
    },
  }
}

export interface FmReceiverOptions {
  /** at least 1.6 times ifBandwidthHz */
  readonly sampleRateHz: number
  /** deviation that gives audio of amplitude 1, Hz */
  readonly deviationHz: number
  /** noise bandwidth of the intermediate-frequency filter, Hz */
  readonly ifBandwidthHz: number
  /** noise power in that filter, relative to a carrier of power 1, dB */
  readonly noiseDb: number
  readonly random: Random
}

/** Noise, intermediate-frequency filter, limiter-discriminator; its delay is the filter's. */
export interface FmReceiver {
  /**
   * @param carriers the sum of what arrives; zeros leave the hiss of an open squelch
   * @returns discriminator audio of the same length, limited to full scale
   */
  demodulate(carriers: BasebandBlock): Float32Array
  readonly delaySamples: number
}

/** @throws RangeError when the filter does not fit the sample rate */
export function createFmReceiver(options: FmReceiverOptions): FmReceiver {
  const { sampleRateHz, deviationHz, ifBandwidthHz } = options
  const taps = ifFilterTaps(ifBandwidthHz, sampleRateHz)
  const noiseRms = noiseRmsBeforeIf(taps, options.noiseDb)
  const noise = gaussian(options.random)
  const scale = sampleRateHz / (2 * Math.PI * deviationHz)
  let tail: BasebandBlock = {
    re: new Float64Array(taps.length - 1),
    im: new Float64Array(taps.length - 1),
  }
  let lastRe = 0
  let lastIm = 0

  return {
    delaySamples: (taps.length - 1) / 2,
    demodulate(carriers) {
      const count = carriers.re.length
      const re = withTail(tail.re, carriers.re)
      const im = withTail(tail.im, carriers.im)
      for (let index = tail.re.length; index < re.length; index++) {
        re[index]! += noiseRms * noise()
        im[index]! += noiseRms * noise()
      }
      tail = { re: re.slice(count), im: im.slice(count) }
      const audio = new Float32Array(count)
      for (let index = 0; index < count; index++) {
        const nowRe = tapSum(taps, re, index)
        const nowIm = tapSum(taps, im, index)
        const angle = Math.atan2(nowIm * lastRe - nowRe * lastIm, nowRe * lastRe + nowIm * lastIm)
        audio[index] = Math.max(-1, Math.min(1, scale * angle))
        lastRe = nowRe
        lastIm = nowIm
      }
      return audio
    },
  }
}

function withTail(tail: Float64Array, block: Float64Array): Float64Array {
  const joined = new Float64Array(tail.length + block.length)
  joined.set(tail)
  joined.set(block, tail.length)
  return joined
}

function tapSum(taps: Float64Array, samples: Float64Array, from: number): number {
  let sum = 0
  for (let tap = 0; tap < taps.length; tap++) sum += taps[tap]! * samples[from + tap]!
  return sum
}
