import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  createHdlcDecoder,
  type HdlcCounters,
  type HdlcDecoderOptions,
  type HdlcSegment,
} from '../../../dsp/framing/hdlcDecoder.js'
import { encodeHdlc, hdlcBitCount } from '../../../dsp/framing/hdlcEncoder.js'
import { decodeNrzi, encodeNrzi } from '../../../dsp/framing/nrzi.js'
import { seededRandom } from '../../../src/runtime/random.js'

const octetsOf = (length: number, fill = 0xa5): Uint8Array => new Uint8Array(length).fill(fill)
const flag = [0, 1, 1, 1, 1, 1, 1, 0]

function decode(
  bits: ArrayLike<number>,
  options: HdlcDecoderOptions = {},
): { segments: HdlcSegment[]; counters: HdlcCounters } {
  const segments: HdlcSegment[] = []
  const decoder = createHdlcDecoder(options, (segment) => segments.push(segment))
  for (let index = 0; index < bits.length; index++) decoder.push(bits[index]!, index + 1)
  return { segments, counters: decoder.counters }
}

const withoutFcs = (segment: HdlcSegment): number[] => [...segment.octetsWithFcs.subarray(0, -2)]

describe('round trip', () => {
  it('gives back any frames, with any number of flags around and between them', () => {
    fc.assert(
      fc.property(
        fc.array(fc.uint8Array({ minLength: 15, maxLength: 330 }), { minLength: 1, maxLength: 4 }),
        fc.integer({ min: 1, max: 5 }),
        fc.integer({ min: 1, max: 3 }),
        (frames, leadingFlags, flagsBetween) => {
          const bits = encodeHdlc({ frames, leadingFlags, flagsBetween, trailingFlags: 1 })
          const { segments } = decode(decodeNrzi(encodeNrzi(bits, 0), 0))
          expect(segments.map(withoutFcs)).toEqual(frames.map((frame) => [...frame]))
          expect(segments[0]!.precedingFlags).toBe(leadingFlags)
          expect(segments[0]!.start).toBe(8 * (leadingFlags - 1))
          expect(segments.at(-1)!.end).toBe(bits.length)
        },
      ),
      { seed: 2, numRuns: 200 },
    )
  })

  it('counts as many bits as it makes', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.oneof(
            fc.uint8Array({ maxLength: 330 }),
            // mostly ones: zeros are inserted in every place
            fc.uint8Array({ maxLength: 60, min: 0xf0 }),
          ),
          { maxLength: 4 },
        ),
        fc.integer({ min: 1, max: 5 }),
        fc.integer({ min: 1, max: 3 }),
        (frames, leadingFlags, flagsBetween) => {
          const options = { frames, leadingFlags, flagsBetween, trailingFlags: 2 }
          expect(hdlcBitCount(options)).toBe(encodeHdlc(options).length)
        },
      ),
      { seed: 3, numRuns: 500 },
    )
  })

  it('never sends six 1s in a row between flags', () => {
    const bits = encodeHdlc({ frames: [octetsOf(40, 0xff)], leadingFlags: 1, trailingFlags: 1 })
    expect([...bits.subarray(8, -8)].join('')).not.toContain('111111')
  })

  it('reads every one of the 2^16 pairs of first octets', () => {
    for (let pair = 0; pair < 65536; pair += 1) {
      const frame = octetsOf(15, 0x40)
      frame[0] = pair & 0xff
      frame[1] = pair >> 8
      const bits = encodeHdlc({ frames: [frame], leadingFlags: 1, trailingFlags: 1 })
      const { segments } = decode(bits)
      if (segments.length !== 1 || withoutFcs(segments[0]!).join() !== frame.join())
        throw new Error(`pair ${pair.toString(16)} was not read`)
    }
  })
})

describe('flags', () => {
  it('takes flags that share their 0 bit for fill', () => {
    const frame = encodeHdlc({ frames: [octetsOf(20)], leadingFlags: 1, trailingFlags: 1 })
    const sharedZero = [...flag, ...flag.slice(1), ...flag.slice(1), ...frame.slice(1)]
    const { segments, counters } = decode(sharedZero)
    expect(segments).toHaveLength(1)
    expect(segments[0]!.precedingFlags).toBe(4)
    expect(counters).toMatchObject({ tooShort: 0, aborted: 0, unaligned: 0 })
  })

  it('hands out nothing before the first flag', () => {
    const bits = encodeHdlc({ frames: [octetsOf(20)], leadingFlags: 1, trailingFlags: 2 })
    expect(decode(bits.subarray(3)).segments).toEqual([])
  })
})

describe('what is refused is counted', () => {
  const frameBits = (octets: Uint8Array): number[] => [
    ...encodeHdlc({ frames: [octets], leadingFlags: 1, trailingFlags: 1 }),
  ]

  it('16 octets with FCS are too short (AX.25 2.2 section 3.9), 17 are not', () => {
    expect(decode(frameBits(octetsOf(14)))).toMatchObject({
      segments: [],
      counters: { tooShort: 1 },
    })
    expect(decode(frameBits(octetsOf(15))).segments).toHaveLength(1)
  })

  it('too long', () => {
    const options = { octetCountMax: 100 }
    expect(decode(frameBits(octetsOf(98)), options).segments).toHaveLength(1)
    const { segments, counters } = decode(
      [...frameBits(octetsOf(99)), ...frameBits(octetsOf(20))],
      options,
    )
    expect(counters.tooLong).toBe(1)
    expect(segments.map((segment) => segment.octetsWithFcs.length)).toEqual([22])
  })

  it('seven 1s end a frame (ISO 3309); the next frame is read', () => {
    const broken = frameBits(octetsOf(20)).slice(0, 80)
    const { segments, counters } = decode([
      ...broken,
      1,
      1,
      1,
      1,
      1,
      1,
      1,
      ...frameBits(octetsOf(21)),
    ])
    expect(segments.map((segment) => segment.octetsWithFcs.length)).toEqual([23])
    expect(counters.aborted).toBe(1)
  })

  it('a bit too few or too many is not a whole number of octets', () => {
    const bits = frameBits(octetsOf(20, 0x22))
    for (const wrong of [bits.toSpliced(60, 1), bits.toSpliced(60, 0, 0)])
      expect(decode(wrong)).toMatchObject({ segments: [], counters: { unaligned: 1 } })
  })

  it('a wrong FCS is counted, and handed out only when asked for', () => {
    const bits = frameBits(octetsOf(20, 0x22))
    bits[60]! ^= 1
    expect(decode(bits)).toMatchObject({ segments: [], counters: { wrongFcs: 1 } })
    expect(decode(bits, { wrongFcsToo: true }).segments).toMatchObject([{ fcsRight: false }])
  })

  it('reset forgets the frame in progress', () => {
    const segments: HdlcSegment[] = []
    const decoder = createHdlcDecoder({}, (segment) => segments.push(segment))
    frameBits(octetsOf(20)).forEach((bit, index) => {
      if (index === 90) decoder.reset()
      decoder.push(bit, index)
    })
    expect(segments).toEqual([])
  })
})

it('random bits make few segments and hardly ever a right FCS', () => {
  const random = seededRandom(7)
  const bits = Uint8Array.from({ length: 2_000_000 }, () => (random() < 0.5 ? 0 : 1))
  const { counters } = decode(bits)
  expect(counters.flags).toBeGreaterThan(6000)
  // 2e6 / 256 flags; a segment of 17 octets or more that ends in a flag and not in an abort is rare, an aligned one rarer.
  expect(counters.wrongFcs).toBeLessThan(1000)
  expect(counters.rightFcs).toBeLessThanOrEqual(1)
})
