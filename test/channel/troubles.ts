// What goes wrong with the audio of real stations besides noise: mains hum, sub-audible tones, offset jumps, ignition, echoes,
// other tuning, late squelch, lost samples. Each takes the audio of one transmission and returns it with that trouble.
// Levels are those of the trouble over the signal, mean power over mean power, except for clicks: their peak over its RMS.
import { gaussian, type Random } from '../../dsp/channel/gaussian.js'
import { analytic } from './analytic.js'

/** What a trouble may know of the transmission that it spoils. */
export interface Transmission {
  readonly sampleRateHz: number
  readonly random: Random
  /** mean power of the signal, full scale 1 */
  readonly signalPower: number
  /** first sample of the transmission, of its first frame after the opening flag, and behind that frame's closing flag */
  readonly startSample: number
  readonly contentSample: number
  readonly endSample: number
}

export type Trouble = (audio: Float32Array, transmission: Transmission) => Float32Array

const gainOf = (db: number): number => 10 ** (db / 20)
/** Amplitude of a sine that is so many dB stronger than the signal. */
const sineOver = ({ signalPower }: Transmission, db: number): number =>
  Math.sqrt(2 * signalPower) * gainOf(db)

/** Mains hum and the harmonics of twice its frequency up to 3 kHz, as rectifiers make them. */
export const hum =
  (mainsHz: number, humDb: number, buzzDb: number): Trouble =>
  (audio, transmission) => {
    const { sampleRateHz, random } = transmission
    const out = addSine(audio, mainsHz, sineOver(transmission, humDb), random(), sampleRateHz)
    const harmonics = Math.floor(3000 / (2 * mainsHz))
    const amplitude = sineOver(transmission, buzzDb) / Math.sqrt(harmonics)
    return Array.from({ length: harmonics }, (_, n) => 2 * mainsHz * (n + 1)).reduce(
      (sum, hz) => addSine(sum, hz, amplitude, random(), sampleRateHz),
      out,
    )
  }

/** A steady tone anywhere from the lowest to the highest that squelches use: 67.0 to 250.3 Hz. */
export const subAudibleTone =
  (db: number): Trouble =>
  (audio, transmission) =>
    steadyTone(67 + 183.3 * transmission.random(), db)(audio, transmission)

export const steadyTone =
  (hz: number, db: number): Trouble =>
  (audio, transmission) => {
    const { random, sampleRateHz } = transmission
    return addSine(audio, hz, sineOver(transmission, db), random(), sampleRateHz)
  }

function addSine(
  audio: Float32Array,
  hz: number,
  amplitude: number,
  turns: number,
  sampleRateHz: number,
): Float32Array {
  return audio.map(
    (sample, n) => sample + amplitude * Math.sin(2 * Math.PI * (turns + (hz * n) / sampleRateHz)),
  )
}

/** The zero line jumps to another place, up to so far off, at random moments; then the converter clips. */
export const offsetJumps =
  (perSecond: number, offsetMax: number): Trouble =>
  (audio, { random, sampleRateHz }) => {
    let offset = offsetMax * (2 * random() - 1)
    return audio.map((sample) => {
      if (random() < perSecond / sampleRateHz) offset = offsetMax * (2 * random() - 1)
      return Math.max(-1, Math.min(1, sample + offset))
    })
  }

/** Short clicks of either sign, as ignition makes them. */
export const clicks =
  (perSecond: number, lengthMs: number, peakDb: number): Trouble =>
  (audio, { random, sampleRateHz, signalPower }) => {
    const out = audio.slice()
    const length = Math.max(1, Math.round((lengthMs * sampleRateHz) / 1000))
    const peak = Math.sqrt(signalPower) * gainOf(peakDb)
    for (let at = 0; at < out.length; at++) {
      if (random() >= perSecond / sampleRateHz) continue
      const height = random() < 0.5 ? peak : -peak
      for (let n = at; n < Math.min(out.length, at + length); n++) out[n]! += height
    }
    return out.map((sample) => Math.max(-1, Math.min(1, sample)))
  }

/** One burst of noise somewhere within the frame. */
export const crash =
  (lengthMs: number, db: number): Trouble =>
  (audio, { random, sampleRateHz, signalPower, contentSample, endSample }) => {
    const out = audio.slice()
    const noise = gaussian(random)
    const length = Math.round((lengthMs * sampleRateHz) / 1000)
    const from = Math.round(contentSample + random() * (endSample - length - contentSample))
    const rms = Math.sqrt(signalPower) * gainOf(db)
    for (let n = from; n < from + length; n++)
      out[n] = Math.max(-1, Math.min(1, out[n]! + rms * noise()))
    return out
  }

/** The audio once more, later and weaker. */
export const echo =
  (delayMs: number, gain: number): Trouble =>
  (audio, { sampleRateHz }) => {
    const delay = (delayMs * sampleRateHz) / 1000
    const whole = Math.floor(delay)
    const part = delay - whole
    return audio.map((sample, n) => {
      const late = (audio[n - whole] ?? 0) * (1 - part) + (audio[n - whole - 1] ?? 0) * part
      return sample + gain * late
    })
  }

/** Single sideband off its frequency: the whole spectrum moves, by a shift that may wander about its mean. */
export const shift =
  (hz: number, wanderHz = 0, wanderPerSecond = 0): Trouble =>
  (audio, { sampleRateHz, random }) => {
    const { re, im } = analytic(audio)
    const start = random()
    let turns = 0
    return audio.map((_, n) => {
      const wander = Math.sin(2 * Math.PI * (start + (wanderPerSecond * n) / sampleRateHz))
      turns += (hz + wanderHz * wander) / sampleRateHz
      return re[n]! * Math.cos(2 * Math.PI * turns) - im[n]! * Math.sin(2 * Math.PI * turns)
    })
  }

/** Silence until so many symbols before the frame, and a tail of hiss, as loud as the signal, behind it. */
export const lateSquelch =
  (flagSymbols: number, hissMs: number): Trouble =>
  (audio, { sampleRateHz, random, signalPower, contentSample, endSample }) => {
    const opens = contentSample - Math.round((flagSymbols * sampleRateHz) / 1200)
    const hiss = Math.round((hissMs * sampleRateHz) / 1000)
    const out = new Float32Array(endSample + 2 * hiss)
    out.set(audio.subarray(opens, endSample), opens)
    const noise = gaussian(random)
    for (let n = endSample; n < endSample + hiss; n++)
      out[n] = 1.5 * Math.sqrt(signalPower) * noise()
    return out
  }

/** Samples lost within the frame: what comes after them comes too early. */
export const hole =
  (shortestMs: number, longestMs: number): Trouble =>
  (audio, { sampleRateHz, random, contentSample, endSample }) => {
    const lengthMs = shortestMs + (longestMs - shortestMs) * random()
    const length = Math.round((lengthMs * sampleRateHz) / 1000)
    const at = Math.round(contentSample + (0.3 + 0.4 * random()) * (endSample - contentSample))
    const out = new Float32Array(audio.length - length)
    out.set(audio.subarray(0, at))
    out.set(audio.subarray(at + length), at)
    return out
  }
