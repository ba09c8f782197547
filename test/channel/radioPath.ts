import type { Random } from '../../dsp/channel/gaussian.js'
import { noiseRmsForEbN0 } from '../../dsp/channel/noise.js'
import { meanPower } from '../../dsp/numbers/power.js'
import { addNoise } from './addNoise.js'
import { type ConverterOptions, convert } from './converter.js'
import { deEmphasis, emphasisSeconds, preEmphasis } from './emphasis.js'
import { type FmPathOptions, simulateFmPath } from './fm.js'
import { butterworth, filterBiquads } from './iir.js'

export interface RadioPathOptions extends ConverterOptions {
  readonly sampleRateHz: number
  readonly random: Random
  /** the transmitter lifts high tones (6 dB per octave) before the modulator */
  readonly preEmphasis?: boolean
  /** an FM transmitter, channel and receiver; without it the audio goes straight through */
  readonly fm?: Omit<FmPathOptions, 'sampleRateHz' | 'random'>
  /** the receiver lowers high tones: audio of a loudspeaker rather than of the discriminator */
  readonly deEmphasis?: boolean
  /** passes 300 to 3000 Hz, as a voice radio's audio stages do */
  readonly voiceFilter?: boolean
  /** white noise on the audio, for this Eb/N0 of the mean power of `signal`, or of all the audio */
  readonly audioNoise?: {
    readonly ebN0Db: number
    readonly signal?: { readonly start: number; readonly end: number }
  }
}

/**
 * Audio of a sender as a receiving computer gets it. Each stage is left out unless asked for.
 * Tone balance, tone offset and symbol-rate errors belong to the sender: give them to the modulator.
 * @returns as many samples as came in, within ±1
 */
export function simulateRadioPath(audio: Float32Array, options: RadioPathOptions): Float32Array {
  const { sampleRateHz, random } = options
  const emphasis = { timeConstantSeconds: emphasisSeconds.voice, sampleRateHz }
  let signal = audio
  if (options.preEmphasis === true) signal = preEmphasis(signal, emphasis)
  if (options.fm !== undefined)
    signal = simulateFmPath(signal, { ...options.fm, sampleRateHz, random })
  if (options.deEmphasis === true) signal = deEmphasis(signal, emphasis)
  if (options.voiceFilter === true) signal = filterVoiceBand(signal, sampleRateHz)
  if (options.audioNoise !== undefined) {
    const { ebN0Db, signal: range } = options.audioNoise
    const power = meanPower(range === undefined ? signal : signal.subarray(range.start, range.end))
    signal = addNoise(signal, noiseRmsForEbN0(power, ebN0Db, sampleRateHz), random)
  }
  return convert(signal, sampleRateHz, options)
}

/** 300 to 3000 Hz: two poles below, four above. */
export function filterVoiceBand(samples: Float32Array, sampleRateHz: number): Float32Array {
  return filterBiquads(samples, [
    ...butterworth('highPass', 2, 300, sampleRateHz),
    ...butterworth('lowPass', 4, 3000, sampleRateHz),
  ])
}
