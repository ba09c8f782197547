// Thousands of frames that cannot be read as they were heard: how many does repair mend, and how many does it mend wrongly?
// A wrong frame is worse than none: somebody may act on it.
import type { Receiver, RepairLevel } from '../../dsp/modem/receivedFrame.js'
import { createReceiver } from '../../dsp/modem/receiver.js'
import { type Random, seededRandom } from '../../src/runtime/random.js'
import type { Bench } from './bench.js'
import { type Condition, conditions, hear } from './conditions.js'
import { randomFrame } from './randomFrame.js'
import { table } from './receiveFile.js'

/** Repair none first: what it does not read is damaged. */
const levels = ['none', 'careful', 'eager'] as const

/** The lowest steps of a ladder's conditions: there most frames are damaged, and many not beyond repair. */
const spreadDb = 3
const names = [
  'white noise',
  'tone balance +8 dB',
  '+60 Hz, +300 ppm',
  'FM, flat',
  'FM, speaker',
  'FM, 10 Hz fading',
  'hole of 0.5 to 2 ms',
]

interface Tally {
  readonly name: string
  sent: number
  damaged: number
  readonly mended: Record<RepairLevel, number>
  readonly wrong: Record<RepairLevel, string[]>
}

export const bench: Bench = {
  name: 'damaged-frames',
  about: 'frames mended, and mended wrongly, out of thousands of damaged ones',
  async run({ seed, quick }) {
    const damagedEach = quick ? 50 : 2700
    const random = seededRandom(seed)
    const tallies = names.map((name) =>
      climb(conditions.find((condition) => condition.name === name)!, damagedEach, random),
    )
    const sum = (of: (tally: Tally) => number): number =>
      tallies.reduce((total, tally) => total + of(tally), 0)
    const row = (name: string, of: (count: (tally: Tally) => number) => number) => [
      name,
      of(({ sent }) => sent),
      of(({ damaged }) => damaged),
      ...levels.map((level) => of(({ mended }) => mended[level])).slice(1),
      ...levels.map((level) => of(({ wrong }) => wrong[level].length)),
    ]
    console.log(
      table([
        [
          'condition',
          'sent',
          'damaged',
          'mended: careful',
          'eager',
          'wrong: none',
          'careful',
          'eager',
        ],
        ...tallies.map((tally) => row(tally.name, (count) => count(tally))),
        row('all', sum),
      ]),
    )
    for (const { name, wrong } of tallies)
      for (const level of levels)
        for (const frame of wrong[level]) console.log(`${name}, ${level}: ${frame}`)
  },
}

function climb(condition: Condition, damagedWanted: number, random: Random): Tally {
  const sampleRateHz = condition.sampleRateHz ?? 48_000
  const receivers = levels.map((repair) => createReceiver({ sampleRateHz, repair }))
  const none = { none: 0, careful: 0, eager: 0 }
  const tally: Tally = {
    name: condition.name,
    ...{ sent: 0, damaged: 0 },
    mended: { ...none },
    wrong: { none: [], careful: [], eager: [] },
  }
  while (tally.damaged < damagedWanted) {
    const octets = randomFrame(30 + Math.floor(90 * random()), random)
    const db = condition.toDb + spreadDb * random()
    const audio = hear(condition, octets, db, sampleRateHz, random)
    const sent = Buffer.from(octets).toString('hex')
    const read = receivers.map((receiver, at) =>
      listen(receiver, audio, sent, tally.wrong[levels[at]!]),
    )
    tally.sent++
    if (read[0]) continue
    tally.damaged++
    levels.forEach((level, at) => {
      if (read[at]) tally.mended[level]++
    })
  }
  return tally
}

/**
 * A transmission and a second of silence, by which every frame of it has come out.
 * @returns whether it was read
 */
function listen(receiver: Receiver, audio: Float32Array, sent: string, wrong: string[]): boolean {
  const silence = new Float32Array(audio.length)
  let isRead = false
  for (const { octets } of [...receiver.push(audio), ...receiver.push(silence)]) {
    const hex = Buffer.from(octets).toString('hex')
    if (hex === sent) isRead = true
    else wrong.push(hex)
  }
  return isRead
}
