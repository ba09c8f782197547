import { describe, expect, it } from 'vitest'
import { encodeHdlc } from '../../../../dsp/framing/hdlcEncoder.js'
import { encodeNrzi } from '../../../../dsp/framing/nrzi.js'
import {
  createFrameReader,
  isRightAndPlausible,
} from '../../../../dsp/modem/secondPass/frameReader.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { hex, testFrame } from '../receiving.js'

const frame = (payloadOctets: number, seed = 1): Uint8Array =>
  testFrame(payloadOctets, seededRandom(seed))
const tonesOf = (frames: readonly Uint8Array[], leadingFlags = 3): Uint8Array =>
  encodeNrzi(encodeHdlc({ frames, leadingFlags, trailingFlags: 1 }))

describe('reading a sequence of tones', () => {
  it('gives each frame with its place, from the opening flag to the end of the closing one', () => {
    const [first, second] = [frame(20), frame(30, 2)]
    const tones = tonesOf([first, second])
    const end = tonesOf([first]).length
    const found = createFrameReader()(tones, tones.length)
    expect(found.map(({ octetsWithFcs }) => hex(octetsWithFcs.slice(0, -2)))).toEqual([
      hex(first),
      hex(second),
    ])
    expect(found.map(({ start, end }) => [start, end])).toEqual([
      [16, end],
      [end - 8, tones.length],
    ])
    expect(found.map(({ precedingFlags }) => precedingFlags)).toEqual([3, 1])
  })

  it('gives whole octets whose FCS is wrong, too', () => {
    const bits = encodeHdlc({ frames: [frame(20)], leadingFlags: 3, trailingFlags: 1 })
    // A zero among zeros is no inserted one.
    const alone = bits.findIndex(
      (_, at) => at > 150 && bits[at - 1] === 0 && bits[at] === 0 && bits[at + 1] === 0,
    )
    bits[alone] = 1
    const [damaged] = createFrameReader()(encodeNrzi(bits), bits.length)
    expect(damaged).toMatchObject({ fcsRight: false, start: 16, end: bits.length })
  })

  it('reads only so many of them, and begins anew each time', () => {
    const read = createFrameReader()
    const tones = tonesOf([frame(20), frame(30, 2)])
    const end = tonesOf([frame(20)]).length
    const first = read(tones, end)
    expect(first).toHaveLength(1)
    expect(read(tones, end - 1)).toEqual([])
    // The rest of a frame is none.
    expect(read(tones.subarray(100), end - 100)).toEqual([])
    expect(read(tones.subarray(100), tones.length - 100)).toHaveLength(1)
    expect(first).toHaveLength(1)
  })

  // 16 octets of addresses, control and PID, and two of FCS.
  it.each([
    [402, 1],
    [403, 0],
  ])('a frame with a text of %i octets: %i', (payloadOctets, count) => {
    const tones = tonesOf([frame(payloadOctets)])
    expect(createFrameReader()(tones, tones.length)).toHaveLength(count)
  })
})

it('right is what has a right FCS and makes sense without it', () => {
  const [segment] = createFrameReader()(tonesOf([frame(20)]), 1000)
  expect(isRightAndPlausible(segment!)).toBe(true)
  expect(isRightAndPlausible({ ...segment!, fcsRight: false })).toBe(false)
  const odd = segment!.octetsWithFcs.slice()
  odd[20] = 0x02
  expect(isRightAndPlausible({ ...segment!, octetsWithFcs: odd })).toBe(false)
  // The FCS itself is no text.
  const withOddFcs = segment!.octetsWithFcs.slice()
  withOddFcs.set([0x02, 0xff], withOddFcs.length - 2)
  expect(isRightAndPlausible({ ...segment!, octetsWithFcs: withOddFcs })).toBe(true)
})
