// Ladders of the project's own making: on each condition, frames from easy to hopeless through the simulated radio path.
// Every seed is another set, so that nothing can be tuned to one.

import {
  modulateTransmission,
  type TransmissionOptions,
} from '../../dsp/modem/modulateTransmission.js'
import { symbolRateHz } from '../../dsp/modem/modulator.js'
import type { ReceivedFrame } from '../../dsp/modem/receivedFrame.js'
import { createReceiver } from '../../dsp/modem/receiver.js'
import { meanPower } from '../../dsp/numbers/power.js'
import { type Random, seededRandom } from '../../src/runtime/random.js'
import { type RadioPathOptions, simulateRadioPath } from '../channel/radioPath.js'
import {
  clicks,
  crash,
  echo,
  hole,
  hum,
  lateSquelch,
  offsetJumps,
  shift,
  subAudibleTone,
  type Transmission,
  type Trouble,
} from '../channel/troubles.js'
import type { Bench } from './bench.js'
import { randomFrame } from './randomFrame.js'
import { table } from './receiveFile.js'

export interface Condition {
  readonly name: string
  /** Eb/N0 of the audio, or carrier-to-noise ratio where the path has `fm`: first and last frame, dB */
  readonly fromDb: number
  readonly toDb: number
  readonly sampleRateHz?: number
  readonly sender?: Partial<TransmissionOptions>
  readonly path?: Omit<Partial<RadioPathOptions>, 'fm'>
  readonly fm?: { readonly dopplerHz?: number; readonly carrierOffsetHz?: number }
  /** what bends the signal itself, before noise is added */
  readonly bend?: Trouble
  /** what comes on top of signal and noise */
  readonly trouble?: Trouble
}

/** Leaves the converter room for what is much louder. */
const quiet = { peakLevel: 0.09 } as const
const speaker = { preEmphasis: true, deEmphasis: true, voiceFilter: true } as const

export const conditions: readonly Condition[] = [
  { name: 'white noise', fromDb: 18, toDb: 4 },
  { name: 'tone balance +8 dB', fromDb: 22, toDb: 4, sender: { toneBalanceDb: 8 } },
  { name: 'tone balance -8 dB', fromDb: 22, toDb: 4, sender: { toneBalanceDb: -8 } },
  { name: 'tone balance +14 dB', fromDb: 28, toDb: 6, sender: { toneBalanceDb: 14 } },
  {
    name: '+60 Hz, +300 ppm',
    fromDb: 20,
    toDb: 4,
    sender: { toneOffsetHz: 60, symbolRateErrorPpm: 300 },
  },
  { name: '-100 Hz', fromDb: 20, toDb: 4, sender: { toneOffsetHz: -100 } },
  { name: 'rate +2.9 %', fromDb: 20, toDb: 4, sender: { symbolRateErrorPpm: 29_000 } },
  { name: 'rate -1.5 %', fromDb: 20, toDb: 4, sender: { symbolRateErrorPpm: -15_000 } },
  { name: '8 flags', fromDb: 18, toDb: 4, sender: { preambleMs: 53 } },
  { name: '2 flags', fromDb: 18, toDb: 4, sender: { preambleMs: 13 } },
  { name: '11025 Hz, 8 bit', fromDb: 18, toDb: 4, sampleRateHz: 11_025, path: { bits: 8 } },
  { name: '8000 Hz', fromDb: 18, toDb: 4, sampleRateHz: 8000 },
  {
    name: 'clipped, hum, DC',
    fromDb: 22,
    toDb: 4,
    path: { gainDb: 14, hum: { hz: 60, amplitude: 0.25 }, dcOffset: 0.05 },
  },
  { name: 'FM, flat', fromDb: 18, toDb: 2, fm: {} },
  { name: 'FM, lifted sender', fromDb: 18, toDb: 2, fm: {}, path: { preEmphasis: true } },
  { name: 'FM, speaker', fromDb: 18, toDb: 2, fm: {}, path: speaker },
  {
    name: 'FM, flat to speaker',
    fromDb: 18,
    toDb: 2,
    fm: {},
    path: { deEmphasis: true, voiceFilter: true },
  },
  { name: 'FM, 1.5 kHz off', fromDb: 20, toDb: 4, fm: { carrierOffsetHz: 1500 } },
  { name: 'FM, 10 Hz fading', fromDb: 30, toDb: 8, fm: { dopplerHz: 10 }, path: speaker },
  { name: 'FM, 2 Hz fading', fromDb: 30, toDb: 8, fm: { dopplerHz: 2 }, path: speaker },
  { name: 'hum and buzz', fromDb: 18, toDb: 4, trouble: hum(50, 12, -9) },
  { name: 'sub-audible tone', fromDb: 18, toDb: 4, trouble: subAudibleTone(6) },
  { name: 'offset jumps', fromDb: 18, toDb: 4, trouble: offsetJumps(10, 0.6), sender: quiet },
  { name: 'ignition', fromDb: 18, toDb: 4, trouble: clicks(80, 0.1, 26), sender: quiet },
  { name: 'one crash', fromDb: 18, toDb: 4, trouble: crash(3, 26), sender: quiet },
  { name: 'echo 1.2 ms', fromDb: 22, toDb: 4, bend: echo(1.2, 0.5) },
  { name: 'echo 0.4 ms', fromDb: 22, toDb: 4, bend: echo(0.4, 0.6) },
  {
    name: '1200/2400 Hz, +8 dB',
    fromDb: 22,
    toDb: 4,
    sender: { toneSpacingErrorHz: 200, toneBalanceDb: 8 },
  },
  { name: '+200 Hz', fromDb: 18, toDb: 4, trouble: shift(200) },
  { name: '-200 Hz', fromDb: 18, toDb: 4, trouble: shift(-200) },
  { name: '40 Hz of drift', fromDb: 18, toDb: 4, trouble: shift(0, 40, 0.5) },
  { name: 'half a flag', fromDb: 18, toDb: 4, trouble: lateSquelch(4, 100) },
  { name: 'hole of 0.5 to 2 ms', fromDb: 20, toDb: 10, trouble: hole(0.5, 2) },
]

export const bench: Bench = {
  name: 'conditions',
  about: 'frames found in ladders of 50 frames, made anew for each seed',
  async run({ seed, quick }) {
    const seeds = Array.from({ length: quick ? 1 : 5 }, (_, n) => seed + n)
    const rows = conditions.map((condition) => {
      const runs = seeds.map((each) => climb(condition, seededRandom(each)))
      const found = runs.reduce((sum, run) => sum + run.found, 0)
      const wrong = runs.reduce((sum, run) => sum + run.wrong, 0)
      return [
        condition.name,
        `${condition.fromDb}..${condition.toDb}`,
        (found / seeds.length).toFixed(1),
        runs.map((run) => run.found).join(' '),
        wrong,
      ]
    })
    const all = rows.reduce((sum, row) => sum + Number(row[2]), 0)
    console.log(
      `seeds ${seeds.join(', ')}; repair careful; dB are Eb/N0, or CNR in 15 kHz with FM\n`,
    )
    console.log(
      table([
        ['condition', 'dB', `of ${frameCount}`, 'each seed', 'wrong'],
        ...rows,
        ['all', '', all.toFixed(1), '', rows.reduce((sum, row) => sum + Number(row[4]), 0)],
      ]),
    )
  },
}

const frameCount = 50
const tailFlags = 2
const tailMs = tailFlags * (8000 / symbolRateHz)
/** Silence, or hiss with FM, before each transmission. */
const pauseS = 0.25

function climb(condition: Condition, random: Random): { found: number; wrong: number } {
  const sampleRateHz = condition.sampleRateHz ?? 48_000
  const receiver = createReceiver({ sampleRateHz, repair: 'careful' })
  const sent = new Set<string>()
  const out: ReceivedFrame[] = []
  for (let index = 0; index < frameCount; index++) {
    const db = condition.fromDb + ((condition.toDb - condition.fromDb) * index) / (frameCount - 1)
    const octets = randomFrame(40 + Math.floor(80 * random()), random)
    sent.add(Buffer.from(octets).toString('hex'))
    out.push(...receiver.push(hear(condition, octets, db, sampleRateHz, random)))
  }
  out.push(...receiver.finish())
  const found = new Set<string>()
  let wrong = 0
  for (const frame of out) {
    const hex = Buffer.from(frame.octets).toString('hex')
    if (sent.has(hex)) found.add(hex)
    else wrong++
  }
  return { found: found.size, wrong }
}

export function hear(
  condition: Condition,
  octets: Uint8Array,
  db: number,
  sampleRateHz: number,
  random: Random,
): Float32Array {
  const preambleMs = condition.sender?.preambleMs ?? 200
  const signal = modulateTransmission({
    frames: [octets],
    preambleMs,
    tailMs,
    // On FM, amplitude 1 is 3 kHz of deviation.
    peakLevel: condition.fm === undefined ? 0.2 : 1,
    ...condition.sender,
    sampleRateHz,
  })
  const start = Math.round((pauseS + 0.01 * random()) * sampleRateHz)
  const audio = new Float32Array(start + signal.length)
  audio.set(signal, start)
  const range = { start, end: audio.length }
  const samplesOf = (flags: number): number => Math.round((flags * 8 * sampleRateHz) / symbolRateHz)
  const transmission: Transmission = {
    sampleRateHz,
    random,
    signalPower: meanPower(signal),
    startSample: start,
    contentSample: start + samplesOf(Math.ceil((preambleMs * symbolRateHz) / 8000 - 1e-9) + 1),
    endSample: audio.length - samplesOf(tailFlags),
  }
  const { fm, bend, trouble } = condition
  const sent = bend === undefined ? audio : bend(audio, transmission)
  const received = simulateRadioPath(sent, {
    sampleRateHz,
    random,
    ...condition.path,
    ...(fm === undefined
      ? { audioNoise: { ebN0Db: db, signal: range } }
      : {
          // Leaves the hiss of the open squelch room below full scale.
          gainDb: -16,
          fm: {
            cnrDb: db,
            deviationHz: 3000,
            ifBandwidthHz: 15_000,
            keyed: [range],
            ...(fm.dopplerHz !== undefined && { fadingDopplerHz: fm.dopplerHz }),
            ...(fm.carrierOffsetHz !== undefined && { carrierOffsetHz: fm.carrierOffsetHz }),
          },
        }),
  })
  return trouble === undefined ? received : trouble(received, transmission)
}
