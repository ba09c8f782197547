// Frames that no single copy gave: how many come out of two and of three of them, and does anything wrong come out of two
// different frames of one station that differ in one digit, as those of a moving beacon do?
import { createCopyCombiner } from '../../dsp/modem/copies/combine.js'
import type { Stretch } from '../../dsp/modem/copies/stretch.js'
import { createFrontEnd, workingRateHz } from '../../dsp/modem/frontEnd/frontEnd.js'
import { createSequenceDetector } from '../../dsp/modem/sequence/sequenceDetector.js'
import { type Random, seededRandom } from '../../src/runtime/random.js'
import type { Bench } from './bench.js'
import { conditions, hear } from './conditions.js'
import { randomFrame } from './randomFrame.js'
import { table } from './receiveFile.js'

const frameOctets = 70
const ebN0sDb = [1, 1.5, 2, 2.5, 3, 3.5, 4, 5]

export const bench: Bench = {
  name: 'copies',
  about:
    'frames found in two and three copies in white noise; wrong ones out of pairs of different frames',
  async run({ seed, quick }) {
    const random = seededRandom(seed)
    const each = quick ? 12 : 200
    const rows = ebN0sDb.map((db) => same(db, each, random))
    console.log(table([['Eb/N0, dB', 'frames', 'one copy', 'two', 'three', 'wrong'], ...rows]))
    const different = ebN0sDb.slice(3).map((db) => apart(db, each, random))
    console.log(
      table([
        ['Eb/N0, dB', 'pairs that differ', 'joint', 'tries', 'contradicted', 'wrong'],
        ...different,
      ]),
    )
  },
}

/** What one copy gives: frames, or the stretches in which there was none. */
function listen(octets: Uint8Array, db: number, random: Random) {
  const frames: string[] = []
  const stretches: Stretch[] = []
  const condition = conditions[0]!
  const audio = hear(condition, octets, db, workingRateHz, random)
  const sink = {
    frame: (frame: { readonly octets: Uint8Array }) => void frames.push(hexOf(frame.octets)),
    damaged: () => undefined,
  }
  const keep = {
    counters: none,
    take: (stretch: Stretch) => {
      stretches.push(stretch)
      return []
    },
  }
  const detector = createSequenceDetector(sink, 'careful', undefined, { combiner: keep })
  detector.process(createFrontEnd(workingRateHz).process(audio))
  detector.finish?.()
  return { frames, stretches }
}

const none = { stretches: 0, joint: 0, tries: 0, contradicted: 0 }
const hexOf = (octets: Uint8Array): string => Buffer.from(octets).toString('hex')

function same(db: number, count: number, random: Random) {
  let [one, two, three, wrong] = [0, 0, 0, 0]
  for (let n = 0; n < count; n++) {
    const octets = randomFrame(frameOctets, random)
    const hex = hexOf(octets)
    const combiner = createCopyCombiner('careful')!
    const heard = [0, 1, 2].map(() => {
      const { frames, stretches } = listen(octets, db, random)
      frames.push(...stretches.flatMap((s) => combiner.take(s)).map((f) => hexOf(f.octets)))
      wrong += frames.filter((frame) => frame !== hex).length
      return frames.includes(hex)
    })
    if (heard[0]) one++
    if (heard[0] || heard[1]) two++
    if (heard.includes(true)) three++
  }
  return [db, count, one, two, three, wrong]
}

function apart(db: number, count: number, random: Random) {
  const total = { joint: 0, tries: 0, contradicted: 0, wrong: 0 }
  for (let n = 0; n < count; n++) {
    const octets = randomFrame(frameOctets, random)
    const combiner = createCopyCombiner('careful')!
    const sent = new Set<string>()
    for (let copy = 0; copy < 6; copy++) {
      octets[30 + Math.floor(30 * random())] = 0x30 + Math.floor(10 * random())
      sent.add(hexOf(octets))
      const { stretches } = listen(octets, db, random)
      const frames = stretches.flatMap((stretch) => combiner.take(stretch))
      total.wrong += frames.filter((frame) => !sent.has(hexOf(frame.octets))).length
    }
    total.joint += combiner.counters.joint
    total.tries += combiner.counters.tries
    total.contradicted += combiner.counters.contradicted
  }
  return [db, count * 6, total.joint, total.tries, total.contradicted, total.wrong]
}
