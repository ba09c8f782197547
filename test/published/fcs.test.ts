// FCS, bit strings, line levels and airtime against published and independently computed values.
// Sources: test/published/ax25.json names them one by one (AX.25 2.2, ISO 3309, the CRC catalogue, RFC 1662);
// airtimes: the bit counts of the same frames divided by 1200.
import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { advanceFcs, computeFcs, fcsIsRight, fcsPreset, fcsResidue } from '../../dsp/framing/fcs.js'
import { createHdlcDecoder, type HdlcSegment } from '../../dsp/framing/hdlcDecoder.js'
import { encodeHdlc } from '../../dsp/framing/hdlcEncoder.js'
import { decodeNrzi, encodeNrzi } from '../../dsp/framing/nrzi.js'
import { transmissionDurationMs } from '../../dsp/modem/modulateTransmission.js'

interface PublishedFrame {
  id: string
  frame_hex_without_fcs: string
  frame_hex_with_fcs: string
  fcs_value: string
  bits_with_one_flag_each_end_after_stuffing: number
  bits_on_line_after_stuffing_with_flags: string
  nrzi_levels_idle_level_1: string
}
const published = JSON.parse(readFileSync(new URL('./ax25.json', import.meta.url), 'utf8')) as {
  fcs: { vectors: { input_hex: string; value: string; octets_as_sent: string }[] }
  frames: PublishedFrame[]
}
const fromHex = (hex: string): Uint8Array =>
  new Uint8Array(Buffer.from(hex.replaceAll(' ', ''), 'hex'))
const bitsOf = (text: string): Uint8Array => Uint8Array.from(text, Number)

describe('FCS vectors (CRC-16/IBM-SDLC of the CRC catalogue)', () => {
  it.each(published.fcs.vectors)('$input_hex -> $value', ({ input_hex, value, octets_as_sent }) => {
    const octets = fromHex(input_hex)
    expect(computeFcs(octets)).toBe(Number(value))
    expect(fcsIsRight(new Uint8Array([...octets, ...fromHex(octets_as_sent)]))).toBe(true)
  })

  it('leaves the published residue in the register', () => {
    const register = [...fromHex('313233343536373839 6e90')].reduce(advanceFcs, fcsPreset)
    expect(register).toBe(fcsResidue)
    expect(fcsResidue).toBe(0xf0b8)
  })
})

describe.each(published.frames)('frame $id', (frame) => {
  const octets = fromHex(frame.frame_hex_without_fcs)
  const lineBits = bitsOf(frame.bits_on_line_after_stuffing_with_flags)

  it('has the published FCS', () => {
    expect(computeFcs(octets)).toBe(Number(frame.fcs_value))
  })

  it('is encoded to the published bits and line levels', () => {
    const bits = encodeHdlc({ frames: [octets], leadingFlags: 1, trailingFlags: 1 })
    expect([...bits].join('')).toBe(frame.bits_on_line_after_stuffing_with_flags)
    expect([...encodeNrzi(bits)].join('')).toBe(frame.nrzi_levels_idle_level_1)
    expect(bits.length).toBe(frame.bits_with_one_flag_each_end_after_stuffing)
  })

  it('is decoded from the published line levels, and no single wrong bit passes', () => {
    const decode = (bits: Uint8Array): HdlcSegment[] => {
      const segments: HdlcSegment[] = []
      const decoder = createHdlcDecoder({}, (segment) => segments.push(segment))
      bits.forEach((bit, index) => {
        decoder.push(bit, index + 1)
      })
      return segments
    }
    const levels = bitsOf(frame.nrzi_levels_idle_level_1)
    expect(decodeNrzi(levels)).toEqual(lineBits)
    const segments = decode(decodeNrzi(levels))
    expect(segments).toHaveLength(1)
    expect(Buffer.from(segments[0]!.octetsWithFcs).toString('hex')).toBe(
      frame.frame_hex_with_fcs.replaceAll(' ', ''),
    )
    expect(segments[0]).toMatchObject({ start: 0, end: lineBits.length, precedingFlags: 1 })
    for (let wrong = 8; wrong < lineBits.length - 8; wrong++) {
      const damaged = lineBits.slice()
      damaged[wrong]! ^= 1
      expect(decode(damaged)).toEqual([])
    }
  })
})

describe('airtime', () => {
  it.each([
    ['ax25-fig-3.4', 135.0],
    ['ax25-fig-3.8', 180.83],
    ['ui-no-path', 187.5],
    ['ui-eight-path', 514.17],
    ['stuffing-heavy', 250.83],
    ['min-sabm', 129.17],
    ['message-ack', 246.67],
  ])('%s lasts %f ms', (id, ms) => {
    const frame = published.frames.find((candidate) => candidate.id === id)!
    const frames = [fromHex(frame.frame_hex_without_fcs)]
    expect(transmissionDurationMs({ frames, preambleMs: 0, tailMs: 0 })).toBeCloseTo(ms, 2)
  })

  it('counts 45 flags for a preamble of 300 ms and 15 for a tail of 100 ms', () => {
    const frame = published.frames.find((candidate) => candidate.id === 'ui-one-used')!
    const frames = [fromHex(frame.frame_hex_without_fcs)]
    expect(transmissionDurationMs({ frames, preambleMs: 300, tailMs: 100 })).toBeCloseTo(834.17, 2)
  })
})
