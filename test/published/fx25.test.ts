// FX.25 against fec.json: tags and codes as they agree in public tables, one tag's octets as printed in a beacon's description,
// frames computed by a program of its own. Every row both ways: what we send, and what we receive.
import { describe, expect, it } from 'vitest'
import {
  checkOctetsOf,
  decodeFx25,
  encodeFx25,
  type Fx25CheckOctetCount,
  fx25Codes,
  fx25TagBits,
  octetsOf,
} from '../../dsp/fec/fx25.js'
import { fec, octetsOfHex } from './fec.js'

describe('FX.25 tags (agreed in eight public tables)', () => {
  it.each(fec.fx25.tags)('tag $tag', ({ tag, value, n, k, check_octets }) => {
    const code = fx25Codes.find((one) => one.tag === tag)!
    expect((BigInt(code.tagHigh) << 32n) | BigInt(code.tagLow)).toBe(BigInt(value))
    expect([code.dataOctetCount, code.checkOctetCount]).toEqual([k, check_octets])
    expect(n).toBe(k + check_octets)
  })
  it('are no others', () => {
    expect(fx25Codes).toHaveLength(fec.fx25.tags.length)
  })
  it('differ in 32 bits', () => {
    const distances = fx25Codes.flatMap((a) =>
      fx25Codes
        .filter((b) => b.tag !== a.tag)
        .map((b) => ones(a.tagLow ^ b.tagLow) + ones(a.tagHigh ^ b.tagHigh)),
    )
    expect([...new Set(distances)]).toEqual(fec.fx25.tag_distance_bits)
  })
})

/** The rows' order: 1, 5 and 9 are the longest codes; the encoder takes the shortest that holds the frame. */
const shortest = fec.fx25.examples_computed.filter(({ tag }) => [3, 6].includes(tag))

describe('FX.25 frames (computed)', () => {
  it.each(fec.fx25.examples_computed)('check octets of tag $tag', (row) => {
    const code = fx25Codes.find(({ tag }) => tag === row.tag)!
    const data = octetsOfHex(row.data_octets)
    const behind = row.check_octets ?? row.check_octets_zeros_behind_the_data!
    expect(checkOctetsOf(code, data, 'behind')).toEqual(octetsOfHex(behind))
    const before = row.check_octets ?? row.check_octets_zeros_before_the_data!
    expect(checkOctetsOf(code, data, 'before')).toEqual(octetsOfHex(before))
  })

  it.each(fec.fx25.examples_computed)('tag $tag is received with both kinds of zeros', (row) => {
    const code = fx25Codes.find(({ tag }) => tag === row.tag)!
    const data = octetsOfHex(row.data_octets)
    for (const text of [
      row.check_octets,
      row.check_octets_zeros_behind_the_data,
      row.check_octets_zeros_before_the_data,
    ].filter((value) => value !== undefined)) {
      const block = Uint8Array.of(...data, ...octetsOfHex(text))
      // as many wrong octets as the code corrects, all within the frame
      for (let at = 0; at < code.checkOctetCount / 2; at++) block[3 + at]! ^= 0x5a
      const decoded = decodeFx25(code, block)!
      expect(decoded.correctedOctets).toBe(code.checkOctetCount / 2)
      const frame = decoded.frames[0]!.octetsWithFcs.slice(0, -2)
      expect(frame).toEqual(octetsOfHex(row.frame_without_fcs))
    }
  })

  it('the shortest code that holds the frame is sent', () => {
    const row = shortest[0]!
    const bits = encodeFx25(octetsOfHex(row.frame_without_fcs), 16)!
    expect(octetsOf(bits)).toEqual(
      Uint8Array.of(
        ...octetsOfHex(row.tag_octets_in_order_sent),
        ...octetsOfHex(row.data_octets),
        ...octetsOfHex(row.check_octets_zeros_behind_the_data!),
      ),
    )
  })

  it.each(fec.fx25.examples_computed)('tag $tag goes out in the order printed', (row) => {
    // A frame that needs just this code: only the tag is looked at.
    const code = fx25Codes.find(({ tag }) => tag === row.tag)!
    const frame = new Uint8Array(code.dataOctetCount - 20).fill(0x20)
    const bits = encodeFx25(frame, code.checkOctetCount as Fx25CheckOctetCount)!
    expect(octetsOf(bits.subarray(0, fx25TagBits))).toEqual(
      octetsOfHex(row.tag_octets_in_order_sent),
    )
  })
})

function ones(word: number): number {
  let count = 0
  for (let bit = 0; bit < 32; bit++) count += (word >>> bit) & 1
  return count
}
