import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  decodeFx25,
  encodeFx25,
  fx25BlockBits,
  fx25CheckOctetCounts,
  fx25Codes,
  fx25TagBits,
  octetsOf,
} from '../../../dsp/fec/fx25.js'
import { createTagWatch } from '../../../dsp/fec/tagWatch.js'
import { createHdlcDecoder } from '../../../dsp/framing/hdlcDecoder.js'
import { seededRandom } from '../../../src/runtime/random.js'

const frames = fc.uint8Array({ minLength: 15, maxLength: 180 })
const checkOctets = fc.constantFrom(...fx25CheckOctetCounts)

describe('FX.25', () => {
  it('any frame comes back out of a block with as many wrong octets as its code corrects', () => {
    fc.assert(
      fc.property(frames, checkOctets, fc.integer(), (frame, count, seed) => {
        const bits = encodeFx25(frame, count)
        if (bits === undefined) return
        const random = seededRandom(seed >>> 0)
        const watch = createTagWatch()
        let code: ReturnType<typeof watch.push>
        for (const bit of bits.subarray(0, fx25TagBits)) code = watch.push(bit)
        expect(fx25BlockBits(code!)).toBe(bits.length - fx25TagBits)
        const octets = octetsOf(bits.subarray(fx25TagBits))
        const hit = new Set<number>()
        while (hit.size < count / 2) hit.add(Math.floor(random() * octets.length))
        for (const at of hit) octets[at]! ^= 1 + Math.floor(random() * 255)
        const block = decodeFx25(code!, octets)!
        expect(block.frames[0]!.octetsWithFcs.slice(0, -2)).toEqual(frame)
        expect(block.correctedOctets).toBe(hit.size)
      }),
      { seed: 3, numRuns: 150 },
    )
  })

  it('a plain receiver reads the frame, and only that', () => {
    fc.assert(
      fc.property(frames, checkOctets, (frame, count) => {
        const bits = encodeFx25(frame, count)
        if (bits === undefined) return
        const found: Uint8Array[] = []
        const decoder = createHdlcDecoder({}, ({ fcsRight, octetsWithFcs }) => {
          if (fcsRight) found.push(octetsWithFcs.slice(0, -2))
        })
        bits.forEach((bit, index) => {
          decoder.push(bit, index)
        })
        expect(found).toEqual([frame])
      }),
      { seed: 4, numRuns: 100 },
    )
  })

  it('the filling needs no check octets: wrong all over, it costs nothing', () => {
    const frame = new Uint8Array(40).fill(0x41)
    const bits = encodeFx25(frame, 16)!
    const octets = octetsOf(bits.subarray(fx25TagBits))
    // 64 octets of data, of which the frame has 44 and a bit
    for (let at = 50; at < 60; at += 2) octets[at]! ^= 0xff
    for (let at = 2; at < 18; at += 2) octets[at]! ^= 0xff
    expect(decodeFx25(fx25Codes[2]!, octets)!.frames[0]!.octetsWithFcs.slice(0, -2)).toEqual(frame)
  })

  it('places that are known to be doubtful count half', () => {
    const frame = Uint8Array.from({ length: 100 }, (_, at) => at)
    const octets = octetsOf(encodeFx25(frame, 16)!.subarray(fx25TagBits))
    const doubtful = [5, 9, 20, 33, 41, 57, 60, 71, 83, 90]
    for (const at of doubtful) octets[at]! ^= 0x18
    expect(decodeFx25(fx25Codes[1]!, octets)).toBeUndefined()
    const slips = doubtful.map((at) => ({ cost: 20, changes: [{ at, bits: 1 }] }))
    const block = decodeFx25(fx25Codes[1]!, octets, slips)!
    expect(block.frames[0]!.octetsWithFcs.slice(0, -2)).toEqual(frame)
  })

  it('a tag is found with eight wrong bits and not with nine', () => {
    const seen = (flips: number): boolean => {
      const tag = encodeFx25(new Uint8Array(20), 16)!.slice(0, fx25TagBits)
      for (let at = 0; at < flips; at++) tag[7 * at]! ^= 1
      const watch = createTagWatch()
      return tag.reduce((found, bit) => watch.push(bit) !== undefined || found, false)
    }
    expect([0, 8, 9].map(seen)).toEqual([true, true, false])
  })
})
