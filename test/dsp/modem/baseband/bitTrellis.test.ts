// Bits through the filter that is matched to their pulse, decided on against the likelihood of all sequences.
import { describe, expect, it } from 'vitest'
import { gaussian } from '../../../../dsp/channel/gaussian.js'
import { bitCapacity, bitMask } from '../../../../dsp/modem/baseband/bits.js'
import { createBitTrellis } from '../../../../dsp/modem/baseband/bitTrellis.js'
import { pulseCorrelation } from '../../../../dsp/modem/baseband/pulse.js'
import { seededRandom } from '../../../../src/runtime/random.js'

const [g0, g1, g2] = [0, 1, 2].map(pulseCorrelation) as [number, number, number]

/** Outputs of the filter: each bit, and what its neighbours leave in it. */
function outputs(bits: readonly number[], height: number, offset: number, noise = 0, seed = 1) {
  const draw = gaussian(seededRandom(seed))
  const level = (at: number): number => (bits[at] === undefined ? 0 : 2 * bits[at] - 1)
  return bits.map(
    (_, k) =>
      offset +
      (height / g0) *
        (g0 * level(k) + g1 * (level(k - 1) + level(k + 1)) + g2 * (level(k - 2) + level(k + 2))) +
      noise * draw(),
  )
}

/** Blocks one after the other from a place in the stream on; each step decides on the block before. */
function decide(values: readonly number[], height: number, offset: number, from = 0): number[] {
  const ring = new Float32Array(bitCapacity)
  const trellis = createBitTrellis()
  const decided: number[] = []
  const levels = { height, offset, coherence: 1, presence: 1 }
  const bits = new Uint8Array(32)
  for (let at = 0; at < values.length; at += 32) {
    for (let bit = 0; bit < 32; bit++) ring[(from + at + bit) & bitMask] = values[at + bit]!
    trellis.step(ring, from + at, levels, bits)
    if (at > 0) decided.push(...bits)
  }
  return decided
}

const randomBits = (count: number, seed: number): number[] => {
  const random = seededRandom(seed)
  return Array.from({ length: count }, () => Math.floor(2 * random()))
}

describe('bits', () => {
  it.each([
    ['of height 1', 1, 0, 0],
    ['of another height and offset', 0.03, -0.2, 0],
    ['across the end of the ring', 2, 1, bitCapacity - 64],
  ])('%s', (_what, height, offset, from) => {
    const bits = randomBits(320, 5)
    expect(decide(outputs(bits, height, offset), height, offset, from)).toEqual(bits.slice(0, 288))
  })

  it('of a block without height do not depend on what is heard', () => {
    const [some, others] = [2, 3].map((seed) => outputs(randomBits(96, seed), 1, 0))
    expect(decide(some!, 0, 0)).toEqual(decide(others!, 0, 0))
  })

  /** Blocks of height 1 but for one. */
  const around = (bits: readonly number[], odd: number, height: number): number[] => {
    const ring = new Float32Array(bitCapacity)
    ring.set(outputs(bits, 1, 0))
    const trellis = createBitTrellis()
    const decided = new Uint8Array(32)
    return Array.from({ length: bits.length / 32 }, (_, block) => {
      const levels = { height: block === odd ? height : 1, offset: 0, coherence: 1, presence: 1 }
      trellis.step(ring, 32 * block, levels, decided)
      return [...decided]
    })
      .slice(1)
      .flat()
  }

  // So small a height makes so much of what is heard that nothing else would count any more, were it not taken off again.
  it.each([0, -1, 1e-20])('behind a block of height %f are decided as ever', (height) => {
    const bits = randomBits(320, 6)
    expect(around(bits, 3, height).slice(160)).toEqual(bits.slice(160, 288))
  })

  it('are decided as ever after a thousand blocks', () => {
    const [block, blocks] = [randomBits(32, 8), 1200]
    const all = new Array<number[]>(blocks).fill(block).flat()
    const ring = Float32Array.from(outputs([...block, ...block, ...block], 1, 0).slice(32, 64))
    const values = new Float32Array(bitCapacity)
    for (let at = 0; at < bitCapacity; at += 32) values.set(ring, at)
    const trellis = createBitTrellis()
    const decided = new Uint8Array(32)
    for (let at = 0; at < all.length; at += 32)
      trellis.step(values, at, { height: 1, offset: 0, coherence: 1, presence: 1 }, decided)
    expect([...decided]).toEqual(block)
  })

  /** The likelihood of the source in the file's head, from the third bit on: states have two bits. */
  const likelihood = (bits: readonly number[], y: readonly number[]): number => {
    let sum = 0
    for (let k = 2; k < bits.length; k++) {
      const [a, b, c] = [2 * bits[k]! - 1, 2 * bits[k - 1]! - 1, 2 * bits[k - 2]! - 1]
      sum += a * (y[k]! - g1 * b - g2 * c)
    }
    return sum
  }

  it.each([1, 2, 3])(
    'in noise no change of six bits in a row makes them likelier, seed %i',
    (seed) => {
      const sent = randomBits(160, seed)
      const values = outputs(sent, 1, 0, 0.5, seed)
      const y = values.map((value) => value * g0)
      const decided = decide(values, 1, 0)
      expect(decided.filter((bit, k) => bit !== sent[k]).length).toBeGreaterThan(0)
      for (let at = 4; at < 90; at++) {
        const window = [...decided.slice(at - 4, at + 14)]
        const best = likelihood(window, y.slice(at - 4, at + 14))
        for (let change = 1; change < 64; change++) {
          const other = window.map((bit, k) =>
            k >= 4 && k < 10 ? bit ^ ((change >> (k - 4)) & 1) : bit,
          )
          expect(likelihood(other, y.slice(at - 4, at + 14))).toBeLessThanOrEqual(best + 1e-6)
        }
      }
    },
  )
})
