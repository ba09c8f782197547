// Frames that no single copy gives, out of two of them; and pairs of different frames, of which nothing may come.
import { expect, it } from 'vitest'
import type { ReceivedFrame } from '../../../../dsp/modem/receivedFrame.js'
import { createReceiver } from '../../../../dsp/modem/receiver.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { conditions, hear } from '../../../bench/conditions.js'
import { hex, testFrame } from '../receiving.js'

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

it('of eight frames at 3 dB Eb/N0, each sent twice, more than half are read, hardly one of them from a single copy', () => {
  const random = seededRandom(3)
  const sent = Array.from({ length: 8 }, () => testFrame(50, random))
  const got = receive([...sent, ...sent], 3, 11)
  const single = got.filter(({ copies }) => copies === undefined)
  const combined = got.filter(({ copies }) => copies === 2)
  expect(single.length).toBeLessThanOrEqual(1)
  expect(combined.length).toBeGreaterThanOrEqual(5)
  for (const { octets, repairedBits } of combined) {
    expect(sent.map(hex)).toContain(hex(octets))
    // The node takes it for a repaired one.
    expect(repairedBits).toBeGreaterThanOrEqual(1)
  }
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
