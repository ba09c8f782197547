// The receiver of 9600 bit/s on the project's own simulated paths: frame success against Eb/N0 in white noise beside the coherent
// bound, ladders through data ports and FM, hours of noise, and what it costs.
import { gaussian } from '../../dsp/channel/gaussian.js'
import { noiseRmsForEbN0, whiteNoise } from '../../dsp/channel/noise.js'
import { createBasebandReceiver } from '../../dsp/modem/baseband/basebandReceiver.js'
import { modulateBasebandTransmission } from '../../dsp/modem/baseband/modulateBaseband.js'
import type { ReceivedFrame, RepairLevel } from '../../dsp/modem/receivedFrame.js'
import { meanPower } from '../../dsp/numbers/power.js'
import { type Random, seededRandom } from '../../src/runtime/random.js'
import { addNoise } from '../channel/addNoise.js'
import { type FlatPortOptions, flatPort } from '../channel/flatPort.js'
import { simulateRadioPath } from '../channel/radioPath.js'
import { basebandBoundDb, basebandChannelBits, basebandEventRate } from './basebandBound.js'
import type { Bench } from './bench.js'
import { frameSuccess } from './coherentBound.js'
import { randomFrame } from './randomFrame.js'
import { table } from './receiveFile.js'

const sampleRateHz = 48_000
/** 72 with the FCS */
const octetCount = 70
const repairLevels: readonly RepairLevel[] = ['none', 'careful', 'eager']

export const bench: Bench = {
  name: 'at-9600',
  about:
    '9600 bit/s: frame success beside its coherent bound, data ports and FM, hours of noise, cost',
  async run({ seed, quick }) {
    curve(seed, quick ? 100 : 500)
    ladders(seed, quick ? 1 : 5)
    falseFrames(seed, quick ? 0.1 : 5)
    cost(seed)
  },
}

function curve(seed: number, frameCount: number): void {
  const points: { readonly db: number; readonly shares: readonly number[] }[] = []
  let wrong = 0
  for (let db = 5; db <= 10; db += 0.5) {
    const shares = repairLevels.map((repair) => {
      const random = seededRandom(seed + 1000 * db)
      const out = receive(repair, frameCount, () => noisy(random, db), random)
      wrong += out.wrong
      return out.found / frameCount
    })
    points.push({ db, shares })
  }
  console.log(
    `${frameCount} frames of 72 octets (FCS counted) a point; share received, ${wrong} wrong\n`,
  )
  const percent = (share: number): string => (100 * share).toFixed(1)
  console.log(
    table([
      ['Eb/N0 dB', ...repairLevels, 'coherent bound'],
      ...points.map(({ db, shares }) => [
        ...[db.toFixed(1), ...shares.map(percent)],
        percent(frameSuccess(basebandEventRate(db), basebandChannelBits)),
      ]),
    ]),
  )
  const crossing = (at: number, share: number): string => {
    const index = points.findIndex(({ shares }) => shares[at]! >= share)
    if (index < 1) return '-'
    const [before, after] = [points[index - 1]!, points[index]!]
    const part = (share - before.shares[at]!) / (after.shares[at]! - before.shares[at]!)
    return (before.db + part * (after.db - before.db)).toFixed(2)
  }
  console.log(
    `\n${table([
      ['dB for', 'half', 'nine tenths'],
      ...repairLevels.map((repair, at) => [repair, crossing(at, 0.5), crossing(at, 0.9)]),
      [
        'coherent bound, no repair',
        ...[0.5, 0.9].map((share) => basebandBoundDb(share).toFixed(2)),
      ],
    ])}`,
  )
}

interface Sent {
  readonly octets: Uint8Array
  readonly audio: Float32Array
}

function receive(
  repair: RepairLevel,
  frameCount: number,
  next: (index: number) => Sent,
  random: Random,
): { readonly found: number; readonly wrong: number } {
  const receiver = createBasebandReceiver({ sampleRateHz, repair })
  const sent = new Set<string>()
  const found = new Set<string>()
  let wrong = 0
  const take = (frames: readonly ReceivedFrame[]): void => {
    for (const { octets } of frames) {
      const hex = Buffer.from(octets).toString('hex')
      if (sent.has(hex)) found.add(hex)
      else wrong++
    }
  }
  for (let index = 0; index < frameCount; index++) {
    const { octets, audio } = next(index)
    sent.add(Buffer.from(octets).toString('hex'))
    take(receiver.push(audio))
  }
  take(receiver.push(whiteNoise(sampleRateHz / 10, 0.001, random)))
  take(receiver.finish())
  return { found: found.size, wrong }
}

/** A transmission behind a pause of any length: its preamble starts at any phase of the receiver's clocks. */
function transmission(
  random: Random,
  octets: Uint8Array,
  change: Partial<Parameters<typeof modulateBasebandTransmission>[0]> = {},
): { readonly audio: Float32Array; readonly start: number } {
  const signal = modulateBasebandTransmission({
    ...{ frames: [octets], preambleMs: 100, tailMs: 5, sampleRateHz, peakLevel: 0.3 },
    ...change,
  })
  const start = Math.round((0.05 + 0.02 * random()) * sampleRateHz)
  const audio = new Float32Array(start + signal.length)
  audio.set(signal, start)
  return { audio, start }
}

function noisy(random: Random, ebN0Db: number): Sent {
  const octets = randomFrame(octetCount, random)
  const { audio, start } = transmission(random, octets)
  const power = meanPower(audio.subarray(start))
  const rms = noiseRmsForEbN0(power, ebN0Db, sampleRateHz, 9600)
  return { octets, audio: addNoise(audio, rms, random) }
}

interface Condition {
  readonly name: string
  /** Eb/N0 of the audio, or carrier-to-noise ratio in 15 kHz with `fm`: first and last frame, dB */
  readonly fromDb: number
  readonly toDb: number
  readonly sender?: { readonly preambleMs?: number; readonly symbolRateErrorPpm?: number }
  readonly fm?: { readonly carrierOffsetHz?: number }
  readonly port?: Omit<FlatPortOptions, 'sampleRateHz'>
  readonly bits?: 8 | 16
  readonly deEmphasis?: boolean
}

const conditions: readonly Condition[] = [
  { name: 'white noise', fromDb: 18, toDb: 4 },
  { name: '+100 ppm', fromDb: 18, toDb: 4, sender: { symbolRateErrorPpm: 100 } },
  { name: '-300 ppm', fromDb: 18, toDb: 4, sender: { symbolRateErrorPpm: -300 } },
  { name: '24 flags', fromDb: 18, toDb: 4, sender: { preambleMs: 19 } },
  { name: '8 bit', fromDb: 18, toDb: 4, bits: 8 },
  { name: 'port of 10 Hz to 6 kHz', fromDb: 18, toDb: 4, port: { lowHz: 10, highHz: 6000 } },
  { name: 'port of 20 Hz to 5 kHz', fromDb: 20, toDb: 4, port: { lowHz: 20, highHz: 5000 } },
  { name: 'port of 40 Hz to 4 kHz', fromDb: 24, toDb: 4, port: { lowHz: 40, highHz: 4000 } },
  { name: 'FM', fromDb: 18, toDb: 4, fm: {} },
  {
    name: 'FM, port of 10 Hz to 6 kHz',
    fromDb: 18,
    toDb: 4,
    fm: {},
    port: { lowHz: 10, highHz: 6000 },
  },
  {
    name: 'FM, 1 kHz off, 10 Hz to 6 kHz',
    ...{ fromDb: 18, toDb: 4, fm: { carrierOffsetHz: 1000 } },
    port: { lowHz: 10, highHz: 6000 },
  },
  { name: 'FM, de-emphasised', fromDb: 24, toDb: 4, fm: {}, deEmphasis: true },
]

const ladderFrames = 50

function ladders(seed: number, runs: number): void {
  const rows = conditions.map((condition) => {
    const all = Array.from({ length: runs }, (_, run) => {
      const random = seededRandom(seed + run)
      const step = (condition.toDb - condition.fromDb) / (ladderFrames - 1)
      const next = (index: number): Sent => {
        const octets = randomFrame(40 + Math.floor(80 * random()), random)
        return { octets, audio: hear(condition, octets, condition.fromDb + step * index, random) }
      }
      return receive('careful', ladderFrames, next, random)
    })
    const mean = all.reduce((sum, { found }) => sum + found, 0) / runs
    return [
      ...[condition.name, `${condition.fromDb}..${condition.toDb}`, mean.toFixed(1)],
      all.reduce((sum, { wrong }) => sum + wrong, 0),
    ]
  })
  console.log(
    `\nseeds from ${seed} on, ${runs} each; repair careful; dB are Eb/N0, or CNR in 15 kHz with FM\n`,
  )
  console.log(table([['condition', 'dB', `of ${ladderFrames}`, 'wrong'], ...rows]))
}

function hear(condition: Condition, octets: Uint8Array, db: number, random: Random): Float32Array {
  const { fm, port, bits, sender, deEmphasis } = condition
  // On FM, amplitude 1 is 3 kHz of deviation.
  const peakLevel = fm === undefined ? 0.3 : 1
  const { audio, start } = transmission(random, octets, { ...sender, peakLevel })
  const range = { start, end: audio.length }
  const through = (samples: Float32Array): Float32Array =>
    port === undefined ? samples : flatPort(samples, { sampleRateHz, ...port })
  if (fm === undefined)
    return simulateRadioPath(through(audio), {
      ...{ sampleRateHz, random, audioNoise: { ebN0Db: db - bandDb, signal: range } },
      ...(bits && { bits }),
    })
  const options = { cnrDb: db, deviationHz: 3000, ifBandwidthHz: 15_000, keyed: [range], ...fm }
  return through(
    simulateRadioPath(audio, {
      sampleRateHz,
      random,
      gainDb: -16,
      fm: options,
      ...(deEmphasis && { deEmphasis }),
    }),
  )
}

/** The path reckons with bits of 1200 baud: at 9600 an eighth of the energy is in each. */
const bandDb = 10 * Math.log10(1200 / 9600)

function falseFrames(seed: number, hours: number): void {
  const rows = (['careful', 'eager'] as const).map((repair) => {
    const receiver = createBasebandReceiver({ sampleRateHz, repair })
    const nextBlock = quickNoise(seededRandom(seed))
    const blocks = Math.round(hours * 3600 * 100)
    let [frames, busy] = [0, 0]
    for (let block = 0; block < blocks; block++) {
      frames += receiver.push(nextBlock()).length
      if (receiver.channelBusy) busy++
    }
    const { fcsRejected, implausible } = receiver.counters
    return [repair, hours, frames, fcsRejected, implausible, ((100 * busy) / blocks).toFixed(3)]
  })
  console.log('\nwhite noise\n')
  console.log(
    table([['repair', 'hours', 'frames', 'damaged segments', 'implausible', 'busy %'], ...rows]),
  )
}

/** 10 ms of white noise at a time, out of two long pieces that are laid over each other at places drawn each time. */
function quickNoise(random: Random): () => Float32Array {
  const normal = gaussian(random)
  const pieces = Array.from({ length: 2 }, () =>
    Float32Array.from({ length: 2_000_003 }, () => 0.07 * normal()),
  )
  const places = [0, 0]
  let blocksLeft = 0
  return () => {
    if (blocksLeft-- === 0) {
      blocksLeft = 100
      for (const at of [0, 1]) places[at] = Math.floor(random() * 1_900_000)
    }
    const block = new Float32Array(480)
    for (let index = 0; index < 480; index++)
      block[index] = pieces[0]![places[0]! + index]! + pieces[1]![places[1]! + index]!
    places[0]! += 480
    places[1]! += 480
    return block
  }
}

/** CPU for each second of audio: noise, silence, and transmissions of 10 dB Eb/N0 in half of the time. */
function cost(seed: number): void {
  const random = seededRandom(seed)
  const rounds = 40
  const transmissions = Array.from({ length: rounds }, () => noisy(random, 10).audio)
  const pauses = whiteNoise(sampleRateHz, rmsOf(transmissions[0]!.subarray(0, 2000)), random)
  const half = transmissions.flatMap((audio) => [audio, pauses.subarray(0, audio.length)])
  const mixes: readonly (readonly [string, readonly Float32Array[]])[] = [
    ['digital silence', Array.from({ length: rounds }, () => new Float32Array(sampleRateHz / 2))],
    ['noise', Array.from({ length: rounds }, () => pauses.subarray(sampleRateHz / 2))],
    ['signals half of the time', half],
  ]
  const cpuOf = (blocks: readonly Float32Array[]): number => {
    const receiver = createBasebandReceiver({ sampleRateHz, repair: 'careful' })
    const samples = blocks.reduce((sum, { length }) => sum + length, 0)
    const before = process.cpuUsage()
    for (const block of blocks) receiver.push(block)
    const { user, system } = process.cpuUsage(before)
    return (((user + system) / 1e6) * sampleRateHz) / samples
  }
  const rows = mixes.map(([name, blocks]) => {
    for (let warm = 0; warm < 3; warm++) cpuOf(blocks)
    const runs = Array.from({ length: 5 }, () => cpuOf(blocks)).sort((a, b) => a - b)
    return [name, runs[2]!.toFixed(4), runs[0]!.toFixed(4)]
  })
  console.log('\n')
  console.log(table([['CPU s per s of audio, warm', 'median of 5', 'least'], ...rows]))
}

const rmsOf = (samples: Float32Array): number => Math.sqrt(meanPower(samples))
