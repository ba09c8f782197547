import { describe, expect, it } from 'vitest'
import { createReedSolomon } from '../../../dsp/fec/reedSolomon.js'
import { type Random, seededRandom } from '../../../src/runtime/random.js'

const places = (count: number, length: number, random: Random): number[] => {
  const chosen = new Set<number>()
  while (chosen.size < count) chosen.add(Math.floor(random() * length))
  return [...chosen]
}

describe.each([
  [2, 0, 15],
  [16, 0, 40],
  [16, 1, 255],
  [32, 1, 160],
  [64, 1, 255],
] as const)('%d check octets, first root %d, %d octets', (checkCount, firstRoot, length) => {
  const code = createReedSolomon(checkCount, firstRoot)
  const random = seededRandom(checkCount + firstRoot + length)
  const word = (): Uint8Array => {
    const data = Uint8Array.from({ length: length - checkCount }, () => Math.floor(random() * 256))
    return Uint8Array.of(...data, ...code.check(data))
  }

  it('corrects whatever twice the errors and once the erasures allow', () => {
    for (let round = 0; round < 60; round++) {
      const sent = word()
      const errors = Math.floor(random() * (checkCount / 2 + 1))
      const erasures = Math.floor(random() * (checkCount - 2 * errors + 1))
      const hit = places(errors + erasures, length, random)
      const heard = sent.slice()
      for (const at of hit) heard[at]! ^= 1 + Math.floor(random() * 255)
      // An erased octet may happen to be right.
      if (erasures > 0) heard[hit[0]!] = sent[hit[0]!]!
      expect(code.correct(heard, hit.slice(0, erasures))).toEqual(sent)
    }
  })

  it('never gives what is no code word', () => {
    for (let round = 0; round < 60; round++) {
      const sent = word()
      const heard = sent.slice()
      for (const at of places(checkCount / 2 + 1, length, random))
        heard[at]! ^= 1 + Math.floor(random() * 255)
      const found = code.correct(heard)
      if (found === undefined) continue
      expect(found).not.toEqual(sent)
      expect(code.check(found.subarray(0, length - checkCount))).toEqual(
        found.subarray(length - checkCount),
      )
    }
  })
})

it('refuses words of impossible length, and too many erasures', () => {
  const code = createReedSolomon(16, 1)
  expect(code.correct(new Uint8Array(16))).toBeUndefined()
  expect(code.correct(new Uint8Array(256))).toBeUndefined()
  expect(
    code.correct(
      new Uint8Array(40).fill(1),
      Array.from({ length: 17 }, (_, at) => at),
    ),
  ).toBe(undefined)
  expect(() => code.check(new Uint8Array(240))).toThrow(RangeError)
})
