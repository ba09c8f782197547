// Frames that no single copy gives, out of two of them; and pairs of different frames, of which nothing may come.
import { expect, it } from 'vitest'
import type { Stretch } from '../../../../dsp/modem/copies/stretch.js'
import { modulateTransmission } from '../../../../dsp/modem/modulateTransmission.js'
import type { ReceivedFrame } from '../../../../dsp/modem/receivedFrame.js'
import { createReceiver } from '../../../../dsp/modem/receiver.js'
import { createSequenceDetector } from '../../../../dsp/modem/sequence/sequenceDetector.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { conditions, hear } from '../../../bench/conditions.js'
import { hex, testFrame, withGaps } from '../receiving.js'

const sampleRateHz = 12_000
const whiteNoise = conditions[0]!

/** What comes of frames sent one after the other, at an Eb/N0. */
function receive(sent: readonly Uint8Array[], ebN0Db: number, seed: number): ReceivedFrame[] {
  const random = seededRandom(seed)
  const receiver = createReceiver({ sampleRateHz, repair: 'careful' })
  const frames = sent.flatMap((octets) =>
    receiver.push(hear(whiteNoise, octets, ebN0Db, sampleRateHz, random)),
  )
  return [...frames, ...receiver.finish()]
}

// Over 40 seeds a run of eight gave 4 to 8, 6.2 on average, and nothing wrong; three of the runs even that out.
it('of 24 frames at 3 dB Eb/N0, each sent twice, 15 are read at least, hardly one of them from a single copy', () => {
  const counts = { single: 0, combined: 0 }
  for (const seed of [1, 2, 3]) {
    const random = seededRandom(seed)
    const sent = Array.from({ length: 8 }, () => testFrame(50, random))
    const got = receive([...sent, ...sent], 3, 1000 + seed)
    const combined = got.filter(({ copies }) => copies === 2)
    counts.single += got.filter(({ copies }) => copies === undefined).length
    counts.combined += combined.length
    for (const { octets, repairedBits } of combined) {
      expect(sent.map(hex)).toContain(hex(octets))
      // The node takes it for a repaired one.
      expect(repairedBits).toBeGreaterThanOrEqual(1)
    }
  }
  expect(counts.single).toBeLessThanOrEqual(1)
  expect(counts.combined).toBeGreaterThanOrEqual(15)
})

it('it stands where its latest copy was heard', () => {
  const octets = testFrame(50, seededRandom(3))
  const [frame] = receive([octets, octets], 3, 5).filter(({ copies }) => copies === 2)
  const second = receive([octets, octets], 20, 5)[1]!
  expect(Math.abs(frame!.firstSample - second.firstSample)).toBeLessThan(20)
  expect(Math.abs(frame!.lastSample - second.lastSample)).toBeLessThan(20)
})

it('a moving beacon gives nothing but what was sent', () => {
  const random = seededRandom(8)
  const octets = testFrame(50, random)
  const sent = Array.from({ length: 12 }, () => {
    octets[30 + Math.floor(20 * random())] = 0x30 + Math.floor(10 * random())
    return octets.slice()
  })
  for (const ebN0Db of [3.5, 4.5]) {
    const wrong = receive(sent, ebN0Db, 4).filter(
      (frame) => !sent.map(hex).includes(hex(frame.octets)),
    )
    expect(wrong).toEqual([])
  }
})

it('idle flags are not kept, alike as they are', () => {
  const kept: Stretch[] = []
  const counters = { stretches: 0, joint: 0, tries: 0, contradicted: 0 }
  const take = (stretch: Stretch) => {
    kept.push(stretch)
    return []
  }
  const sink = { frame: () => undefined, damaged: () => undefined }
  const combiner = { take, counters }
  const detector = createSequenceDetector(sink, 'careful', undefined, { combiner })
  const random = seededRandom(2)
  const flags = modulateTransmission({
    ...{ frames: [], preambleMs: 1500, tailMs: 0, peakLevel: 0.2, sampleRateHz },
  })
  detector.process(withGaps([flags, flags], sampleRateHz / 2, 0.03, random))
  detector.finish?.()
  expect(kept).toEqual([])
  // while a frame among flags is, if it cannot be read
  const unread = hear(whiteNoise, testFrame(50, random), 2.5, sampleRateHz, random)
  detector.process(withGaps([unread], sampleRateHz / 2, 0.03, random))
  detector.finish?.()
  expect(kept.length).toBe(1)
})
