import crc16kermit from 'crc/crc16kermit'
import fc from 'fast-check'
import { expect, it } from 'vitest'
import { computeFcs, fcsIsRight } from '../../../dsp/framing/fcs.js'

// The npm package 'crc' has no X-25 by name: its kermit variant is the same register (polynomial 0x1021 reflected)
// with another preset and no final inversion, both of which are given here.
it('agrees with a general-purpose CRC package on any octets', () => {
  fc.assert(
    fc.property(fc.uint8Array({ maxLength: 400 }), (octets) => {
      const fcs = computeFcs(octets)
      expect(fcs).toBe(crc16kermit(Buffer.from(octets), 0xffff) ^ 0xffff)
      expect(fcsIsRight(Uint8Array.of(...octets, fcs & 0xff, fcs >> 8))).toBe(true)
    }),
    { seed: 1, numRuns: 500 },
  )
})

it('finds every change of one or two bits in a short frame', () => {
  const frame = Uint8Array.from({ length: 18 }, (_, index) => (index * 37) & 0xff)
  const fcs = computeFcs(frame)
  const whole = Uint8Array.of(...frame, fcs & 0xff, fcs >> 8)
  const flip = (bit: number): void => {
    whole[bit >> 3]! ^= 1 << (bit & 7)
  }
  for (let first = 0; first < whole.length * 8; first++) {
    flip(first)
    expect(fcsIsRight(whole)).toBe(false)
    for (let second = first + 1; second < whole.length * 8; second++) {
      flip(second)
      if (fcsIsRight(whole)) throw new Error(`bits ${first} and ${second} pass`)
      flip(second)
    }
    flip(first)
  }
})

it('refuses what is too short to hold an FCS', () => {
  expect(fcsIsRight(new Uint8Array(0))).toBe(false)
  expect(fcsIsRight(new Uint8Array(1))).toBe(false)
})
