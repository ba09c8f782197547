// Recordings of frames that were lost, each for a reason that is known: the receiver reads the frame without the trouble and not
// with it. By a seed, so that what was tuned on one set is tried on another.

import type { CauseKind } from '../../dsp/causes/causes.js'
import { createLossWatch, type LostFrame } from '../../dsp/causes/lossWatch.js'
import { createFmReceiver, createFmTransmitter } from '../../dsp/channel/fmLink.js'
import { noiseRmsForEbN0 } from '../../dsp/channel/noise.js'
import {
  modulateTransmission,
  type TransmissionOptions,
} from '../../dsp/modem/modulateTransmission.js'
import { symbolRateHz } from '../../dsp/modem/modulator.js'
import type { DamagedFrame, ReceivedFrame } from '../../dsp/modem/receivedFrame.js'
import { createReceiver } from '../../dsp/modem/receiver.js'
import { meanPower } from '../../dsp/numbers/power.js'
import type { Random } from '../../src/runtime/random.js'
import { addNoise } from './addNoise.js'
import { convert } from './converter.js'
import { deEmphasis, emphasisSeconds, preEmphasis } from './emphasis.js'
import { simulateFmPath } from './fm.js'
import { filterVoiceBand } from './radioPath.js'
import {
  clicks,
  crash,
  echo,
  hum,
  shift,
  steadyTone,
  type Transmission,
  type Trouble,
} from './troubles.js'
import { usualFrame } from './usualFrame.js'

/** A cause, with mains hum told apart by its frequency. */
export type KnownCause =
  | Exclude<CauseKind, 'hum' | '4 kHz low' | '4 kHz high' | 'noise at 9600'>
  | 'hum 50'
  | 'hum 60'

export const knownCauses: readonly KnownCause[] = [
  'noise',
  '2200 Hz low',
  '2200 Hz high',
  'clipping',
  'hum 50',
  'hum 60',
  'sub-audible tone',
  'echo',
  'clicks',
  'slip',
  'off-tune',
  'short preamble',
  'collision',
]

export interface LostRecording {
  readonly causes: readonly KnownCause[]
  readonly audio: Float32Array
  readonly sampleRateHz: number
  /** what a watch beside the receiver told of most of it: where a false flag cuts it, there are several */
  readonly told: LostFrame
}

/** What a cause changes, stage by stage. */
interface Plan {
  sender: Partial<TransmissionOptions>
  ebN0Db: number
  bends: Trouble[]
  /** FM noise in place of white noise */
  fm: { cnrDb: number; dopplerHz?: number } | undefined
  troubles: Trouble[]
  /** peaks over full scale, and the offset of the zero line as a share of full scale */
  overdriveDb: number | undefined
  offset: number
  other: { kind: 'capture' | 'sum'; ratioDb: number; startShare: number } | undefined
}

const between = (random: Random, from: number, to: number): number => from + (to - from) * random()
const one = <Value>(random: Random, values: readonly Value[]): Value =>
  values[Math.floor(random() * values.length)]!

/** Samples lost within the frame, so often; or silence in their place. */
const holes =
  (count: number, shortestMs: number, longestMs: number): Trouble =>
  (audio, { sampleRateHz, random, contentSample, endSample }) => {
    const isCut = random() < 0.75
    const parts: Float32Array[] = []
    let from = 0
    for (let at = 0; at < count; at++) {
      const share = (at + between(random, 0.25, 0.75)) / count
      const start = Math.round(contentSample + share * (endSample - contentSample))
      const length = Math.round((between(random, shortestMs, longestMs) * sampleRateHz) / 1000)
      parts.push(audio.subarray(from, start))
      if (!isCut) parts.push(new Float32Array(length))
      from = Math.min(audio.length, start + length)
    }
    parts.push(audio.subarray(from))
    return joined(parts)
  }

function joined(parts: readonly Float32Array[]): Float32Array {
  const out = new Float32Array(parts.reduce((sum, part) => sum + part.length, 0))
  let at = 0
  for (const part of parts) {
    out.set(part, at)
    at += part.length
  }
  return out
}

/** The squelch opens, or the transmitter is up, so far into the frame. */
const lateStart =
  (share: number): Trouble =>
  (audio, { sampleRateHz, random, signalPower, contentSample, endSample }) => {
    const opens = contentSample + Math.round(share * (endSample - contentSample))
    const out = audio.slice()
    out.fill(0, 0, opens)
    // Either silence, or the hiss of an open squelch.
    if (random() < 0.5) return out
    const hiss = addNoise(new Float32Array(opens), Math.sqrt(signalPower), random)
    out.set(filterVoiceBand(hiss, sampleRateHz))
    return out
  }

const crashes =
  (count: number, lengthMs: number, db: number): Trouble =>
  (audio, transmission) => {
    let out = audio
    for (let at = 0; at < count; at++) out = crash(lengthMs, db)(out, transmission)
    return out
  }

type Change = (plan: Plan, random: Random, isOneOfTwo: boolean) => void

const balance =
  (sign: 1 | -1): Change =>
  (plan, random, isOneOfTwo) => {
    const toneBalanceDb = sign * (isOneOfTwo ? between(random, 11, 16) : between(random, 12, 26))
    plan.sender = { ...plan.sender, toneBalanceDb }
  }

const mains =
  (hz: number): Change =>
  (plan, random) =>
    void plan.troubles.push(hum(hz, between(random, 0, 16), between(random, -4, 6)))

/** By itself each is strong enough to lose a frame that would be read by far; of two, neither hides the other. */
const changes: Record<KnownCause, Change> = {
  noise(plan, random, isOneOfTwo) {
    if (!isOneOfTwo && random() < 0.3)
      plan.fm = { cnrDb: between(random, 4, 8), ...(random() < 0.5 && { dopplerHz: 3 }) }
    else plan.ebN0Db = isOneOfTwo ? between(random, 4, 6) : between(random, 2, 4.5)
  },
  '2200 Hz low': balance(-1),
  '2200 Hz high': balance(1),
  clipping(plan, random, isOneOfTwo) {
    plan.overdriveDb = isOneOfTwo ? between(random, 4, 14) : between(random, 6, 24)
    plan.offset = between(random, 0.3, 0.95) * (random() < 0.5 ? 1 : -1)
  },
  'hum 50': mains(50),
  'hum 60': mains(60),
  'sub-audible tone': (plan, random, isOneOfTwo) =>
    void plan.troubles.push(
      steadyTone(one(random, ctcssHz), between(random, 12, isOneOfTwo ? 24 : 40)),
    ),
  echo: (plan, random) =>
    void plan.bends.push(echo(between(random, 0.5, 2.5), between(random, 0.6, 1))),
  clicks: (plan, random) =>
    void plan.troubles.push(
      random() < 0.6
        ? clicks(between(random, 80, 400), between(random, 0.1, 0.4), between(random, 18, 28))
        : crashes(1 + Math.floor(3 * random()), between(random, 6, 30), between(random, 10, 24)),
    ),
  slip: (plan, random) =>
    void plan.troubles.push(holes(1 + Math.floor(3 * random()), 0.5, one(random, [2, 6, 25]))),
  // Before all else: hum and tones are picked up behind the receiver that is off its frequency.
  'off-tune': (plan, random, isOneOfTwo) =>
    void plan.bends.push(
      shift(between(random, 280, isOneOfTwo ? 450 : 600) * (random() < 0.5 ? 1 : -1)),
    ),
  'short preamble': (plan, random) =>
    void plan.troubles.push(lateStart(between(random, 0.02, 0.5))),
  collision(plan, random) {
    plan.other = {
      kind: one(random, ['capture', 'sum']),
      ratioDb: between(random, -5, 5),
      startShare: between(random, 0.1, 0.8),
    }
  },
}

/** Published tones of squelches, Hz: TIA-603, from memory; those of 67 to 254.1 Hz. */
const ctcssHz = [
  67, 77, 88.5, 94.8, 107.2, 114.8, 123, 136.5, 146.2, 156.7, 173.8, 192.8, 210.7, 233.6, 250.3,
]

/**
 * Pairs that are none: both cannot be there, or one is what the other does. A clipped signal's own harmonics stand where noise would;
 * clicks are a kind of noise; an echo strengthens one tone and weakens the other; of two signals one may begin in the other.
 */
const excluding: readonly (readonly KnownCause[])[] = [
  ['2200 Hz low', '2200 Hz high', 'echo'],
  ['hum 50', 'hum 60'],
  ['noise', 'clipping'],
  ['noise', 'clicks'],
  ['collision', 'short preamble'],
]

export function pairOf(random: Random): [KnownCause, KnownCause] {
  for (;;) {
    const pair: [KnownCause, KnownCause] = [one(random, knownCauses), one(random, knownCauses)]
    if (pair[0] === pair[1]) continue
    if (!excluding.some((both) => pair.every((cause) => both.includes(cause)))) return pair
  }
}

const rates = [22_050, 44_100, 48_000, 12_000] as const

/**
 * A recording of one frame that the receiver does not read because of these, and reads without them.
 * @throws Error when none was found in many trials
 */
export function lostFrame(causes: readonly KnownCause[], random: Random): LostRecording {
  for (let trial = 0; trial < 400; trial++) {
    const sampleRateHz = one(random, rates)
    const octets = usualFrame(random)
    const plain = emptyPlan(random)
    const plan = emptyPlan(random)
    plan.ebN0Db = plain.ebN0Db
    plan.sender = { ...plain.sender }
    for (const cause of causes) changes[cause](plan, random, causes.length > 1)
    const { audio, transmission } = record(plan, octets, sampleRateHz, random)
    const heard = hear(audio, sampleRateHz)
    if (isAmong(heard.frames, octets)) continue
    const without = record(plain, octets, sampleRateHz, random)
    if (!isAmong(hear(without.audio, sampleRateHz).frames, octets)) continue
    const told = explain(audio, sampleRateHz, heard)
    if (told.length === 0) continue
    // A second sender's frame may be lost as well, by that collision alone.
    const within = ({ firstSample, lastSample }: LostFrame): number =>
      Math.min(lastSample, transmission.endSample) - Math.max(firstSample, transmission.startSample)
    const longest = told.reduce((one, other) => (within(other) > within(one) ? other : one))
    if (within(longest) <= 0) continue
    return { causes, audio, sampleRateHz, told: longest }
  }
  throw new Error(`lost frame: ${causes.join(', ')} lost none`)
}

const emptyPlan = (random: Random): Plan => ({
  sender: {
    toneBalanceDb: between(random, -3, 4),
    toneOffsetHz: between(random, -25, 25),
    symbolRateErrorPpm: between(random, -300, 300),
    preambleMs: between(random, 120, 350),
  },
  ebN0Db: between(random, 13, 22),
  ...{ bends: [], fm: undefined, troubles: [], overdriveDb: undefined, offset: 0 },
  other: undefined,
})

const pauseS = 0.4
const tailFlags = 2

function record(
  plan: Plan,
  octets: Uint8Array,
  sampleRateHz: number,
  random: Random,
): { audio: Float32Array; transmission: Transmission } {
  const { signal, transmission } = sent(plan, octets, sampleRateHz, random)
  let audio: Float32Array<ArrayBufferLike> = signal
  for (const bend of plan.bends) audio = bend(audio, transmission)
  const power = meanPower(audio.subarray(transmission.startSample, transmission.endSample))
  audio = plan.other === undefined ? audio : collided(audio, plan.other, transmission)
  audio =
    plan.fm === undefined
      ? addNoise(audio, noiseRmsForEbN0(power, plan.ebN0Db, sampleRateHz), random)
      : throughFm(audio, plan.fm, transmission)
  for (const trouble of plan.troubles)
    audio = trouble(audio, { ...transmission, signalPower: power })
  return { audio: throughConverter(audio, plan, transmission, random), transmission }
}

function sent(plan: Plan, octets: Uint8Array, sampleRateHz: number, random: Random) {
  const preambleMs = plan.sender.preambleMs ?? 200
  const tailMs = tailFlags * (8000 / symbolRateHz)
  // A tenth leaves room for what is much louder: nothing before the converter is limited to full scale but the clicks.
  const burst = modulateTransmission({
    ...{ frames: [octets], tailMs, peakLevel: 0.02, ...plan.sender, preambleMs },
    sampleRateHz,
  })
  const start = Math.round((pauseS + 0.1 * random()) * sampleRateHz)
  const signal = new Float32Array(start + burst.length + Math.round(pauseS * sampleRateHz))
  signal.set(burst, start)
  const samplesOf = (flags: number): number => Math.round((flags * 8 * sampleRateHz) / symbolRateHz)
  const transmission: Transmission = {
    ...{ sampleRateHz, random, signalPower: meanPower(burst), startSample: start },
    contentSample: start + samplesOf(Math.ceil((preambleMs * symbolRateHz) / 8000 - 1e-9) + 1),
    endSample: start + burst.length - samplesOf(tailFlags),
  }
  return { signal, transmission }
}

/** A second sender begins within the frame: on FM the stronger carrier takes the receiver, else both add up. */
function collided(
  audio: Float32Array,
  { kind, ratioDb, startShare }: NonNullable<Plan['other']>,
  transmission: Transmission,
): Float32Array {
  const { sampleRateHz, random, signalPower, contentSample, endSample } = transmission
  const peakLevel = Math.sqrt(2 * signalPower)
  const other = modulateTransmission({
    frames: [usualFrame(random)],
    ...{ preambleMs: between(random, 150, 300), tailMs: 14, peakLevel, sampleRateHz },
    toneBalanceDb: between(random, -3, 4),
    toneOffsetHz: between(random, -25, 25),
  })
  const start = Math.round(contentSample + startShare * (endSample - contentSample))
  const late = new Float32Array(Math.max(audio.length, start + other.length + sampleRateHz / 4))
  late.set(other, start)
  const early = new Float32Array(late.length)
  early.set(audio)
  const gain = 10 ** (ratioDb / 20)
  if (kind === 'sum') return Float32Array.from(early, (sample, n) => sample + gain * late[n]!)
  const step = Math.ceil(rateForFm / sampleRateHz)
  const rate = step * sampleRateHz
  const carrierOf = (sound: Float32Array, offsetHz: number) =>
    createFmTransmitter({
      ...{ sampleRateHz: rate, deviationHz: 3000, carrierOffsetHz: offsetHz },
    }).modulate(stretched(sound, step, 1 / peakLevel))
  const a = carrierOf(early, between(random, -300, 300))
  const b = carrierOf(late, between(random, -300, 300))
  const endA = (endSample + (tailFlags * 8 * sampleRateHz) / symbolRateHz) * step
  const endB = (start + other.length) * step
  const both = (x: number, y: number, n: number): number =>
    (n < endA ? x : 0) + (n >= start * step && n < endB ? gain * y : 0)
  const re = Float64Array.from(a.re, (x, n) => both(x, b.re[n]!, n))
  const im = Float64Array.from(a.im, (x, n) => both(x, b.im[n]!, n))
  const heard = createFmReceiver({
    ...{ sampleRateHz: rate, deviationHz: 9000, ifBandwidthHz: 15_000, noiseDb: -30, random },
  }).demodulate({ re, im })
  // What comes after both is hiss: the squelch closes there.
  const end = Math.max(endA, endB)
  return Float32Array.from({ length: late.length }, (_, n) =>
    n * step < transmission.startSample * step || n * step > end
      ? 0
      : 3 * peakLevel * heard[n * step]!,
  )
}

/** Twice over, an intermediate frequency of 15 kHz fits into it. */
const rateForFm = 44_000

/** Every sample so often, smoothed in a straight line. */
const stretched = (samples: Float32Array, step: number, gain: number): Float32Array =>
  Float32Array.from({ length: samples.length * step }, (_, n) => {
    const at = Math.floor(n / step)
    const part = n / step - at
    return gain * (samples[at]! * (1 - part) + (samples[at + 1] ?? 0) * part)
  })

function throughFm(
  audio: Float32Array,
  { cnrDb, dopplerHz }: NonNullable<Plan['fm']>,
  { sampleRateHz, random, startSample, endSample, signalPower }: Transmission,
): Float32Array {
  const step = Math.ceil(rateForFm / sampleRateHz)
  const rate = step * sampleRateHz
  const peak = Math.sqrt(2 * signalPower)
  const emphasis = { timeConstantSeconds: emphasisSeconds.voice, sampleRateHz: rate }
  const heard = simulateFmPath(preEmphasis(stretched(audio, step, 0.6 / peak), emphasis), {
    ...{ sampleRateHz: rate, random, deviationHz: 3000, ifBandwidthHz: 15_000, cnrDb },
    keyed: [{ start: startSample * step, end: (endSample + 0.01 * sampleRateHz) * step }],
    ...(dopplerHz !== undefined && { fadingDopplerHz: dopplerHz }),
  })
  const speaker = filterVoiceBand(deEmphasis(heard, emphasis), rate)
  return Float32Array.from(audio, (_, n) => 0.5 * peak * speaker[n * step]!)
}

/** 16 bits, at a level that leaves room; or overdriven. */
function throughConverter(
  audio: Float32Array,
  { overdriveDb, offset }: Plan,
  { sampleRateHz, random, startSample, endSample, signalPower }: Transmission,
  _: Random,
): Float32Array {
  const peak = audio
    .subarray(startSample, endSample)
    .reduce((most, sample) => Math.max(most, Math.abs(sample)), 1e-9)
  if (overdriveDb === undefined) {
    const gain = (0.9 * 10 ** (-between(random, 0, 12) / 20)) / peak
    return convert(
      audio.map((sample) => gain * sample),
      sampleRateHz,
      {},
    )
  }
  const gain = 10 ** (overdriveDb / 20) / Math.sqrt(2 * signalPower)
  const shifted = offset * 10 ** (overdriveDb / 20)
  return convert(
    audio.map((sample) => gain * sample + shifted),
    sampleRateHz,
    {},
  )
}

interface Heard {
  readonly frames: readonly ReceivedFrame[]
  readonly damaged: readonly DamagedFrame[]
}

function hear(audio: Float32Array, sampleRateHz: number): Heard {
  const receiver = createReceiver({ sampleRateHz, repair: 'careful' })
  const frames = [
    ...receiver.push(audio),
    ...receiver.push(new Float32Array(sampleRateHz)),
    ...receiver.finish(),
  ]
  return { frames, damaged: receiver.takeDamaged() }
}

const isAmong = (frames: readonly ReceivedFrame[], octets: Uint8Array): boolean =>
  frames.some((frame) => Buffer.compare(frame.octets, octets) === 0)

function explain(
  audio: Float32Array,
  sampleRateHz: number,
  { frames, damaged }: Heard,
): LostFrame[] {
  const watch = createLossWatch({ sampleRateHz, findsAll: true })
  watch.push(audio)
  return [...watch.take(frames, damaged), ...watch.finish()]
}
