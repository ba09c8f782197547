import fc from 'fast-check'
import nodeWav from 'node-wav'
import { describe, expect, it } from 'vitest'
import { type SampleFormat, sampleFormats } from '../../src/audio/audioDevice.js'
import {
  createChannelDecoder,
  createPcmDecoder,
  decodePcm,
  encodePcm,
  octetsPerSample,
} from '../../src/audio/rawPcm.js'

const half: Partial<Record<SampleFormat, number>> = {
  u8: 128,
  s16le: 2 ** 15,
  s16be: 2 ** 15,
  s24le: 2 ** 23,
  s32le: 2 ** 31,
}

describe('raw PCM', () => {
  it.each<[SampleFormat, number[], number[]]>([
    // Two's complement, little or big endian; unsigned for 8 bit: common practice, written out by hand.
    ['u8', [0x80, 0x00, 0xff, 0xc0], [0, -1, 1, 64 / 127]],
    ['s16le', [0, 0, 0x00, 0x80, 0xff, 0x7f, 0x00, 0xc0], [0, -1, 1, -0.5]],
    ['s16be', [0, 0, 0x80, 0x00, 0x7f, 0xff, 0xc0, 0x00], [0, -1, 1, -0.5]],
    ['s24le', [0, 0, 0, 0, 0, 0x80, 0xff, 0xff, 0x7f, 0, 0, 0xc0], [0, -1, 1, -0.5]],
    ['s32le', [0, 0, 0, 0, 0, 0, 0, 0x80, 0xff, 0xff, 0xff, 0x7f, 0, 0, 0, 0xc0], [0, -1, 1, -0.5]],
    // IEEE 754: 0.5, -1, 2 (kept), not a number (silence)
    ['f32le', [0, 0, 0, 0x3f, 0, 0, 0x80, 0xbf, 0, 0, 0, 0x40, 0, 0, 0xc0, 0x7f], [0.5, -1, 2, 0]],
    ['f64le', [0, 0, 0, 0, 0, 0, 0xe0, 0x3f, 0, 0, 0, 0, 0, 0, 0xf0, 0xbf], [0.5, -1]],
  ])('reads %s', (format, octets, expected) => {
    const [channel] = decodePcm(Uint8Array.from(octets), format, 1)
    expect(channel).toHaveLength(expected.length)
    for (const [index, value] of expected.entries()) expect(channel![index]).toBeCloseTo(value, 6)
  })

  it.each([...sampleFormats])('%s comes back from encoding within half a step', (format) => {
    const step = 1 / ((half[format] ?? 2 ** 24) - 1)
    fc.assert(
      fc.property(
        fc.float32Array({ min: -1, max: 1, noNaN: true, minLength: 1, maxLength: 50 }),
        fc.integer({ min: 1, max: 5 }),
        fc.nat({ max: 4 }),
        (samples, channelCount, wanted) => {
          const channel = wanted % channelCount
          const octets = encodePcm(samples, format, channel, channelCount)
          const back = decodePcm(octets, format, channelCount)
          expect(back).toHaveLength(channelCount)
          back.forEach((values, index) => {
            expect(values).toHaveLength(samples.length)
            for (let at = 0; at < values.length; at++) {
              const expected = index === channel ? samples[at]! : 0
              expect(Math.abs(values[at]! - expected)).toBeLessThanOrEqual(0.51 * step + 2 ** -24)
            }
          })
        },
      ),
      { seed: 1, numRuns: 200 },
    )
  })

  it('clips what is beyond full scale and silences what is not a number', () => {
    const octets = encodePcm(Float32Array.of(3, -3, Number.NaN, Infinity), 's16le')
    expect([...decodePcm(octets, 's16le', 1)[0]!]).toEqual([1, -1, 0, 1])
  })

  // What another program makes of the same octets: node-wav, from npm.
  it.each(['u8', 's16le', 's32le', 'f32le'] as const)('reads %s as node-wav does', (format) => {
    fc.assert(
      fc.property(
        fc.uint8Array({ minLength: 64, maxLength: 64 }),
        fc.integer({ min: 1, max: 2 }),
        (octets, channelCount) => {
          const theirs = nodeWav.decode(wavFile(octets, format, channelCount)).channelData
          const ours = decodePcm(octets, format, channelCount)
          for (const [channel, values] of ours.entries())
            expect([...values]).toEqual(
              [...theirs[channel]!].map((v) => (Number.isFinite(v) ? v : 0)),
            )
        },
      ),
      { seed: 3, numRuns: 200 },
    )
  })

  it('a stream cut at any octet gives the same samples as one piece', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...sampleFormats),
        fc.integer({ min: 1, max: 3 }),
        fc.uint8Array({ maxLength: 200 }),
        fc.array(fc.nat({ max: 200 }), { maxLength: 8 }),
        (format, channelCount, octets, cuts) => {
          const decoder = createPcmDecoder(format, channelCount)
          const places = [...cuts.map((cut) => Math.min(cut, octets.length)), octets.length].sort(
            (a, b) => a - b,
          )
          const pieces: number[][] = Array.from({ length: channelCount }, () => [])
          let from = 0
          for (const to of places) {
            const blocks = decoder.push(octets.slice(from, to))
            for (const [index, block] of blocks.entries()) pieces[index]!.push(...block)
            from = to
          }
          const whole = decodePcm(octets, format, channelCount)
          expect(pieces).toEqual(whole.map((channel) => [...channel]))
          expect(decoder.pendingOctets).toBe(
            octets.length % (octetsPerSample(format) * channelCount),
          )
        },
      ),
      { seed: 2, numRuns: 1000 },
    )
  })

  it('forgets half a sample frame when told that the stream starts anew', () => {
    const decoder = createPcmDecoder('s16le', 1)
    decoder.push(Uint8Array.of(0x55))
    decoder.reset()
    expect([...decoder.push(Uint8Array.of(0x00, 0x80))[0]!]).toEqual([-1])
  })
})

/** @see Multimedia Programming Interface and Data Specifications 1.0 (1991), chapter 3, on RIFF WAVE (from memory) */
function wavFile(octets: Uint8Array, format: SampleFormat, channelCount: number): ArrayBuffer {
  const file = Buffer.alloc(44 + octets.length)
  const sampleOctets = octetsPerSample(format)
  file.write('RIFF', 0)
  file.writeUInt32LE(36 + octets.length, 4)
  file.write('WAVEfmt ', 8)
  file.writeUInt32LE(16, 16)
  file.writeUInt16LE(format.startsWith('f') ? 3 : 1, 20)
  file.writeUInt16LE(channelCount, 22)
  file.writeUInt32LE(8000, 24)
  file.writeUInt32LE(8000 * channelCount * sampleOctets, 28)
  file.writeUInt16LE(channelCount * sampleOctets, 32)
  file.writeUInt16LE(8 * sampleOctets, 34)
  file.write('data', 36)
  file.writeUInt32LE(octets.length, 40)
  file.set(octets, 44)
  return file.buffer.slice(file.byteOffset, file.byteOffset + file.length) as ArrayBuffer
}

it('one channel of a stream is that of all of them, in the same memory', () => {
  fc.assert(
    fc.property(
      fc.constantFrom('u8', 's16le', 's24le', 'f32le'),
      fc.integer({ min: 1, max: 3 }),
      fc.array(fc.uint8Array({ maxLength: 50 }), { maxLength: 10 }),
      (format, channelCount, parts) => {
        const channel = channelCount - 1
        const all = createPcmDecoder(format, channelCount)
        const one = createChannelDecoder(format, channel, channelCount)
        // In memory that is written anew each time, as a feed does.
        const reused = new Uint8Array(50)
        for (const part of parts) {
          reused.set(part)
          const heard = one.push(reused.subarray(0, part.length))
          expect([...heard]).toEqual([...all.push(part)[channel]!])
        }
      },
    ),
  )
  const decoder = createChannelDecoder('s16le', 0, 1)
  const first = decoder.push(new Uint8Array(100))
  expect(decoder.push(new Uint8Array(80)).buffer).toBe(first.buffer)
})
