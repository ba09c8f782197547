import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { createKissDecoder, encodeKiss, type KissFrame } from '../../src/kiss/codec.js'

const seed = 1987

const frames = fc.record({
  port: fc.nat(15),
  // 15 on port 15 would be the octet of Return.
  command: fc.nat(14),
  data: fc.uint8Array({ maxLength: 40 }),
})

/** Octets that mean something are likely. */
const noise = fc.array(
  fc.oneof(
    { weight: 3, arbitrary: fc.constantFrom(0xc0, 0xdb, 0xdc, 0xdd, 0x00) },
    { weight: 1, arbitrary: fc.nat(255) },
  ),
  { maxLength: 40 },
)

/**
 * The paper's receiver written out anew, on whole streams: split at frame ends, then undo escapes.
 */
function reference(stream: readonly number[], maxOctets: number): number[][] {
  const pieces: number[][] = [[]]
  for (const octet of stream) {
    if (octet === 0xc0) pieces.push([])
    else pieces.at(-1)!.push(octet)
  }
  // What lies in front of the first frame end and after the last is not a frame.
  return pieces.slice(1, -1).flatMap((piece) => {
    const text = piece.map((octet) => String.fromCharCode(octet)).join('')
    if (!/^(?:[^\xdb]|\xdb[\xdc\xdd])+$/s.test(text)) return []
    const plain = text.replace(/\xdb([\xdc\xdd])/g, (_, next) =>
      next === '\xdc' ? '\xc0' : '\xdb',
    )
    return plain.length > maxOctets ? [] : [[...plain].map((character) => character.charCodeAt(0))]
  })
}

const flat = ({ port, command, data }: KissFrame): number[] => [
  command === 255 ? 0xff : (port << 4) | command,
  ...data,
]

describe('KISS codec', () => {
  it('decodes 100,000 random streams, cut anywhere, as the reference does, and never throws', () => {
    let found = 0
    fc.assert(
      fc.property(noise, fc.nat(40), (stream, cut) => {
        const decoder = createKissDecoder({ maxOctets: 12 })
        const octets = Uint8Array.from(stream)
        const decoded = [
          ...decoder.push(octets.subarray(0, cut)),
          ...decoder.push(octets.subarray(cut)),
        ]
        expect(decoded.length).toBe(decoder.counters.frames)
        const wanted = reference(stream, 12)
        found += wanted.length
        if (JSON.stringify(decoded.map(flat)) !== JSON.stringify(wanted)) {
          expect(decoded.map(flat)).toEqual(wanted)
        }
      }),
      { numRuns: 100_000, seed },
    )
    // The streams must not all be empty of frames.
    expect(found).toBeGreaterThan(10_000)
  })

  it('takes back every frame that it wrote, with and without checksum, in one octet at a time', () => {
    fc.assert(
      fc.property(fc.array(frames, { maxLength: 4 }), fc.boolean(), (sent, checksum) => {
        const decoder = createKissDecoder({ maxOctets: 41, checksum })
        const wire = sent.flatMap((frame) => [...encodeKiss(frame, { checksum })])
        const received = wire.flatMap((octet) => decoder.push(Uint8Array.of(octet)))
        expect(received).toEqual(sent)
      }),
      { numRuns: 2_000, seed },
    )
  })

  it('drops what is longer than the limit, counts it once, and goes on', () => {
    const decoder = createKissDecoder({ maxOctets: 4 })
    const fits = { port: 0, command: 0, data: Uint8Array.of(1, 2, 3) }
    const long = { port: 0, command: 0, data: new Uint8Array(1000) }
    const received = [fits, long, fits].flatMap((frame) => decoder.push(encodeKiss(frame)))
    expect(received).toEqual([fits, fits])
    expect(decoder.counters).toMatchObject({ frames: 2, tooLong: 1 })
  })

  it('hands out frames that later octets do not change', () => {
    const decoder = createKissDecoder({ maxOctets: 8 })
    const first = { port: 1, command: 0, data: Uint8Array.of(1, 2, 3) }
    const [received] = decoder.push(encodeKiss(first))
    decoder.push(encodeKiss({ port: 0, command: 0, data: Uint8Array.of(9, 9, 9) }))
    expect(received).toEqual(first)
  })

  it('forgets an unfinished frame on reset', () => {
    const decoder = createKissDecoder({ maxOctets: 8 })
    decoder.push(Uint8Array.of(0xc0, 0x00, 0x41, 0xdb))
    decoder.reset()
    expect(decoder.push(Uint8Array.of(0x42, 0xc0, 0x00, 0x43, 0xc0)).map(flat)).toEqual([
      [0x00, 0x43],
    ])
    expect(decoder.counters).toMatchObject({ badEscape: 0, noise: 1 })
  })

  it('refuses wrong arguments of our own code', () => {
    expect(() => createKissDecoder({ maxOctets: 1 })).toThrow(RangeError)
    for (const [port, command] of [
      [16, 0],
      [-1, 0],
      [0, 16],
      [0.5, 0],
      [15, 15],
    ] as const) {
      expect(() => encodeKiss({ port, command, data: new Uint8Array() })).toThrow(RangeError)
    }
  })
})
