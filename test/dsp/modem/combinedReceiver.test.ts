// Two receivers of one transmission: what neither hears by itself, both together may.
import { expect, it } from 'vitest'
import { createCombinedReceiver } from '../../../dsp/modem/combinedReceiver.js'
import { createReceiver } from '../../../dsp/modem/receiver.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { conditions, hear } from '../../bench/conditions.js'
import { hex, testFrame } from './receiving.js'

const sampleRateHz = 12_000
const quarterMs = sampleRateHz / 4000

/** The same transmission in other noise, of the other polarity and a quarter of a millisecond later. */
function twoReceivers(sent: readonly Uint8Array[], ebN0Db: number, seed: number): Float32Array[][] {
  return sent.map((octets, n) => {
    const first = hear(conditions[0]!, octets, ebN0Db, sampleRateHz, startingAt(seed + n))
    const second = hear(conditions[0]!, octets, ebN0Db, sampleRateHz, startingAt(seed + n, 999))
    const late = new Float32Array(first.length)
    late.set(
      second.subarray(0, first.length - quarterMs).map((sample) => -sample),
      quarterMs,
    )
    return [first, late]
  })
}

/** Randomness whose first draw, which places the transmission, is that of a seed, and whose others are not. */
function startingAt(seed: number, other = seed): () => number {
  const place = seededRandom(seed)()
  const rest = seededRandom(seed + 1000 * other)
  let isFirst = true
  return () => {
    if (!isFirst) return rest()
    isFirst = false
    return place
  }
}

it('at 3 dB Eb/N0, where one hears hardly a frame, two of them hear more than half of eight', () => {
  const random = seededRandom(4)
  const sent = Array.from({ length: 8 }, () => testFrame(50, random))
  const blocks = twoReceivers(sent, 3, 50)
  const alone = [0, 1].map((channel) => {
    const receiver = createReceiver({ sampleRateHz, repair: 'careful' })
    return [...blocks.flatMap((pair) => receiver.push(pair[channel]!)), ...receiver.finish()].length
  })
  expect(Math.max(...alone)).toBeLessThanOrEqual(2)
  const combined = createCombinedReceiver({ sampleRateHz, repair: 'careful' }, 2)
  const got = [...blocks.flatMap((pair) => combined.push(pair)), ...combined.finish()]
  expect(got.filter(({ octets }) => !sent.map(hex).includes(hex(octets)))).toEqual([])
  expect(got.length).toBeGreaterThanOrEqual(5)
  expect(combined.contributions.joint).toBeGreaterThanOrEqual(3)
})

it('what both hear comes out once, and it is counted who gave it', () => {
  const random = seededRandom(4)
  const sent = Array.from({ length: 3 }, () => testFrame(30, random))
  const blocks = twoReceivers(sent, 20, 50)
  const combined = createCombinedReceiver({ sampleRateHz, repair: 'careful' }, 2)
  const got = [...blocks.flatMap((pair) => combined.push(pair)), ...combined.finish()]
  expect(got.map(({ octets }) => hex(octets))).toEqual(sent.map(hex))
  expect(combined.contributions).toEqual({ alone: [3, 3], joint: 0 })
  expect(combined.counters.frames).toBe(3)
})

it('in fading of 10 Hz at 11 dB CNR, where one hears nothing, the quieter antenna of each moment gives most', () => {
  const fading = conditions.find(({ name }) => name === 'FM, 10 Hz fading')!
  const rate = 24_000
  const random = seededRandom(4)
  const sent = Array.from({ length: 8 }, () => testFrame(50, random))
  const combined = createCombinedReceiver({ sampleRateHz: rate, repair: 'careful' }, 2)
  const heard = sent.flatMap((octets, n) => {
    const [first, second] = [50 + n, 999].map((other) =>
      hear(fading, octets, 11, rate, startingAt(50 + n, other)),
    ) as [Float32Array, Float32Array]
    // The other antenna has the opposite polarity, and is a quarter of a millisecond late.
    const late = new Float32Array(first.length)
    late.set(
      second.subarray(0, first.length - rate / 4000).map((sample) => -sample),
      rate / 4000,
    )
    return combined.push([first, late])
  })
  const got = [...heard, ...combined.finish()].map(({ octets }) => hex(octets))
  expect(got.filter((one) => !sent.map(hex).includes(one))).toEqual([])
  expect(got.length).toBeGreaterThanOrEqual(6)
})
