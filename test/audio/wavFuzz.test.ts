import { closeSync, mkdtempSync, openSync, rmSync, truncateSync, writeSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { readWavHeader } from '../../src/audio/wavHeader.js'
import { openWav } from '../../src/audio/wavReader.js'
import { wavHeader } from '../../src/audio/wavWriter.js'
import { Failure } from '../../src/runtime/failure.js'

const layout = fc.record({
  sampleRateHz: fc.integer({ min: 8000, max: 192_000 }),
  sampleFormat: fc.constantFrom('u8', 's16le', 's24le', 's32le', 'f32le', 'f64le'),
  channelCount: fc.integer({ min: 1, max: 32 }),
} as const)

describe('damaged WAV headers', () => {
  it('give a header inside the file, or a Failure; never anything else', () => {
    fc.assert(
      fc.property(
        layout,
        fc.array(fc.tuple(fc.nat({ max: 130 }), fc.nat({ max: 255 })), { maxLength: 6 }),
        fc.nat({ max: 150 }),
        fc.boolean(),
        (format, damage, length, isStream) => {
          const file = new Uint8Array(150)
          file.set(wavHeader(format, 60))
          for (const [at, octet] of damage) file[at] = octet
          const octets = file.subarray(0, length)
          const range = {
            size: isStream ? Infinity : octets.length,
            read: (at: number, count: number) => octets.subarray(at, at + count),
          }
          try {
            const header = readWavHeader(range, 'damaged')
            expect(header.sampleRateHz).toBeGreaterThanOrEqual(8000)
            expect(header.channelCount).toBeGreaterThanOrEqual(1)
            expect(header.dataOctets).toBeGreaterThanOrEqual(0)
            if (!isStream) expect(header.dataAt + header.dataOctets).toBeLessThanOrEqual(length)
          } catch (error) {
            if (!(error instanceof Failure)) throw error
            expect(error.message).toMatch(/^damaged.*: got .*, expected /)
          }
        },
      ),
      { seed: 4, numRuns: 10_000 },
    )
  })

  it('any octets at all', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 80 }), (octets) => {
        const range = {
          size: octets.length,
          read: (at: number, count: number) => octets.subarray(at, at + count),
        }
        expect(() => readWavHeader(range, 'x')).toThrow(Failure)
      }),
      { seed: 5, numRuns: 5000 },
    )
  })
})

describe('memory', () => {
  it('does not grow with the recording', () => {
    const directory = mkdtempSync(join(tmpdir(), 'ridgepost-long-'))
    try {
      // Ten minutes of stereo, 115 MB and twice that as samples; sparse, so that it takes no place on the disk.
      const file = join(directory, 'long.wav')
      const format = { sampleRateHz: 48_000, sampleFormat: 's16le', channelCount: 2 } as const
      const dataOctets = 4 * 48_000 * 600
      const header = wavHeader(format, dataOctets)
      const descriptor = openSync(file, 'w')
      writeSync(descriptor, header)
      closeSync(descriptor)
      truncateSync(file, header.length + dataOctets)

      const reader = openWav(file)
      reader.read(16_384)
      const before = process.memoryUsage.rss()
      let frames = 16_384
      let highest = 0
      for (let block = reader.read(16_384); block !== undefined; block = reader.read(16_384)) {
        frames += block[0]!.length
        highest = Math.max(highest, process.memoryUsage.rss())
      }
      reader.close()
      expect(frames).toBe(48_000 * 600)
      expect((highest - before) / 2 ** 20).toBeLessThan(80)
    } finally {
      rmSync(directory, { recursive: true })
    }
  })
})
