import { execFileSync, spawnSync } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { SampleFormat } from '../../src/audio/audioDevice.js'
import { encodePcm } from '../../src/audio/rawPcm.js'
import { readWavHeader } from '../../src/audio/wavHeader.js'
import { openWav } from '../../src/audio/wavReader.js'
import { createWav, wavHeader } from '../../src/audio/wavWriter.js'
import { Failure } from '../../src/runtime/failure.js'

let directory: string
beforeAll(() => {
  directory = mkdtempSync(join(tmpdir(), 'ridgepost-wav-'))
})
afterAll(() => rmSync(directory, { recursive: true }))

const place = (name: string): string => join(directory, name)

/** A ramp whose every sample differs, so that a shift or a swap shows. */
const ramp = (length: number, sign = 1): Float32Array =>
  Float32Array.from({ length }, (_, index) => (sign * (index + 1)) / (length + 1))

function readAll(file: string, slice = 1000): { channels: number[][]; warnings: string[] } {
  const reader = openWav(file)
  const channels: number[][] = Array.from({ length: reader.channelCount }, () => [])
  for (let block = reader.read(slice); block !== undefined; block = reader.read(slice)) {
    for (const [index, values] of block.entries()) channels[index]!.push(...values)
  }
  reader.close()
  return { channels, warnings: [...reader.warnings] }
}

function failureOf(run: () => unknown): Failure {
  try {
    run()
  } catch (error) {
    if (error instanceof Failure) return error
    throw error
  }
  throw new Error('expected a Failure')
}

interface Chunk {
  readonly id: string
  readonly body: Uint8Array
  /** what its header says when that is not true */
  readonly stated?: number
  readonly unpadded?: boolean
}

function riff(chunks: readonly Chunk[], container = 'RIFF'): Buffer {
  const parts = chunks.flatMap(({ id, body, stated, unpadded }) => {
    const size = Buffer.alloc(4)
    size.writeUInt32LE(stated ?? body.length)
    const pad = body.length % 2 === 1 && unpadded !== true ? [Buffer.alloc(1)] : []
    return [Buffer.from(id), size, Buffer.from(body), ...pad]
  })
  const body = Buffer.concat([Buffer.from('WAVE'), ...parts])
  const head = Buffer.alloc(8)
  head.write(container)
  head.writeUInt32LE(container === 'RF64' ? 0xffff_ffff : body.length, 4)
  return Buffer.concat([head, body])
}

function format(options: {
  tag?: number
  channels?: number
  rate?: number
  bits?: number
  blockOctets?: number
  extension?: Uint8Array
}): Chunk {
  const { tag = 1, channels = 1, rate = 48_000, bits = 16, extension } = options
  const blockOctets = options.blockOctets ?? (channels * bits) / 8
  const body = Buffer.alloc(16)
  body.writeUInt16LE(tag, 0)
  body.writeUInt16LE(channels, 2)
  body.writeUInt32LE(rate, 4)
  body.writeUInt32LE((rate * blockOctets) >>> 0, 8)
  body.writeUInt16LE(blockOctets, 12)
  body.writeUInt16LE(bits, 14)
  return { id: 'fmt ', body: extension ? Buffer.concat([body, extension]) : body }
}

const samples = ramp(100)
const data = (stated?: number): Chunk => ({
  id: 'data',
  body: encodePcm(samples, 's16le'),
  ...(stated === undefined ? {} : { stated }),
})

describe('WAV reader on files made octet by octet', () => {
  const expected = [...samples]
  const close = (got: number[] | undefined, wanted = expected, step = 2 ** -15): void => {
    expect(got).toHaveLength(wanted.length)
    wanted.forEach((value, index) => {
      expect(Math.abs(got![index]! - value)).toBeLessThan(step)
    })
  }

  it.each<[string, Chunk[]]>([
    ['plain', [format({}), data()]],
    [
      'a LIST chunk of odd length before and after the samples',
      [
        format({}),
        { id: 'LIST', body: Buffer.from('INFOxyz') },
        data(),
        { id: 'LIST', body: Buffer.from('INFO') },
      ],
    ],
    [
      'an odd chunk whose writer forgot the filler octet',
      [format({}), { id: 'note', body: Buffer.from('abc'), unpadded: true }, data()],
    ],
    ['samples before the format', [data(), format({})]],
    [
      'WAVE_FORMAT_EXTENSIBLE',
      [
        format({
          tag: 0xfffe,
          extension: Buffer.from(
            // cbSize 22, valid bits 16, mask 4, then the GUID of PCM (ksmedia.h, from memory)
            `160010000400000001000000${'00001000800000aa00389b71'}`,
            'hex',
          ),
        }),
        data(),
      ],
    ],
  ])('%s', (_, chunks) => {
    writeFileSync(place('a.wav'), riff(chunks))
    const { channels, warnings } = readAll(place('a.wav'))
    close(channels[0])
    expect(warnings).toEqual([])
  })

  it.each([0, 0xffff_ffff, 1_000_000])('a data size of %d gives what is there', (stated) => {
    writeFileSync(place('a.wav'), riff([format({}), data(stated)]))
    const { channels, warnings } = readAll(place('a.wav'))
    close(channels[0])
    expect(warnings).toHaveLength(1)
  })

  it('a data size of 0 is believed where another chunk follows', () => {
    const list = { id: 'LIST', body: Buffer.from('INFO') }
    writeFileSync(place('a.wav'), riff([format({}), { id: 'data', body: Buffer.alloc(0) }, list]))
    expect(readAll(place('a.wav'))).toEqual({ channels: [[]], warnings: [] })
  })

  it('every truncation after the header is read to its last whole sample', () => {
    const whole = riff([format({ channels: 2 }), data()])
    for (let length = 44; length <= whole.length; length++) {
      writeFileSync(place('a.wav'), whole.subarray(0, length))
      const { channels, warnings } = readAll(place('a.wav'), 7)
      const frames = Math.floor((length - 44) / 4)
      expect(channels.map((channel) => channel.length)).toEqual([frames, frames])
      expect(warnings).toHaveLength(length < whole.length ? 1 : 0)
    }
  })

  it('every truncation of the header is a clear failure', () => {
    const whole = riff([format({}), data()])
    for (let length = 0; length < 44; length++) {
      writeFileSync(place('a.wav'), whole.subarray(0, length))
      const failure = failureOf(() => openWav(place('a.wav')))
      expect(failure.code).toMatch(/^wav-(empty|not-audio|format|no-data)$/)
      expect(failure.message).toContain(place('a.wav'))
    }
  })

  it('RF64 with its sizes in a ds64 chunk', () => {
    const ds64 = Buffer.alloc(28)
    ds64.writeBigUInt64LE(BigInt(samples.length * 2), 8)
    const list = { id: 'LIST', body: Buffer.from('INFO') }
    writeFileSync(
      place('a.wav'),
      riff([{ id: 'ds64', body: ds64 }, format({}), data(0xffff_ffff), list], 'RF64'),
    )
    const { channels, warnings } = readAll(place('a.wav'))
    close(channels[0])
    expect(warnings).toEqual([])
  })

  it('20 valid bits in a container of 24', () => {
    const body = encodePcm(samples, 's24le')
    writeFileSync(
      place('a.wav'),
      riff([format({ bits: 20, blockOctets: 3 }), { id: 'data', body }]),
    )
    close(readAll(place('a.wav')).channels[0], expected, 2 ** -23)
  })

  it.each<[string, Buffer, string, string]>([
    ['empty', Buffer.alloc(0), 'wav-empty', 'an empty file'],
    ['text', Buffer.from('dear reader, this is text'), 'wav-not-audio', 'text ("dear reader,")'],
    ['MP3', Buffer.from('4944330400000000000000000000', 'hex'), 'wav-not-audio', 'an MP3 file'],
    ['FLAC', Buffer.from('fLaC\0\0\0\x22aaaaaaaa'), 'wav-not-audio', 'a FLAC file'],
    ['another RIFF', Buffer.from('RIFF\x10\0\0\0AVI LIST'), 'wav-not-audio', 'another kind'],
    ['no data', riff([format({})]), 'wav-no-data', 'no chunk with samples'],
    ['no format', riff([data()]), 'wav-format', 'no format chunk'],
    ['4000 a second', riff([format({ rate: 4000 }), data()]), 'wav-rate', '4000 samples a second'],
    ['no rate', riff([format({ rate: 0 }), data()]), 'wav-rate', '0 samples a second'],
    ['no channel', riff([format({ channels: 0 }), data()]), 'wav-channels', '0 channels'],
    ['mu-law', riff([format({ tag: 7, bits: 8 }), data()]), 'wav-format', 'mu-law, 8 bit'],
    ['4 bit', riff([format({ bits: 0, blockOctets: 0 }), data()]), 'wav-format', 'PCM, 0 bit'],
  ])('%s: says what it got', (_, octets, code, got) => {
    writeFileSync(place('a.wav'), octets)
    const failure = failureOf(() => openWav(place('a.wav')))
    expect(failure.code).toBe(code)
    expect(failure.inShort).toContain(got)
    expect(failure.detail.subject).toContain(place('a.wav'))
  })

  it('a directory and a missing file are failures', () => {
    expect(failureOf(() => openWav(directory)).inShort).toBe('a directory')
    expect(failureOf(() => openWav(place('none.wav'))).code).toBe('audio-unreadable')
  })
})

const formats: [SampleFormat, string[]][] = [
  ['u8', ['-b', '8', '-e', 'unsigned-integer']],
  ['s16le', ['-b', '16']],
  ['s24le', ['-b', '24']],
  ['s32le', ['-b', '32', '-e', 'signed-integer']],
  ['f32le', ['-b', '32', '-e', 'floating-point']],
  ['f64le', ['-b', '64', '-e', 'floating-point']],
]
const hasSox = spawnSync('sox', ['--version']).status === 0

describe.skipIf(!hasSox)(
  'WAV against sox (a general-purpose converter; skipped without it)',
  () => {
    /** What sox reads in the file, as float samples of all channels, interleaved. */
    const soxReads = (file: string): Float32Array => {
      const raw = execFileSync('sox', [
        '-D',
        file,
        '-t',
        'raw',
        '-e',
        'floating-point',
        '-b',
        '32',
        '-',
      ])
      return new Float32Array(raw.buffer.slice(raw.byteOffset, raw.byteOffset + raw.length))
    }

    it.each(formats)('reads %s as sox does', (sampleFormat, options) => {
      const file = place('sox.wav')
      execFileSync('sox', [
        ...['-D', '-n', '-r', '22050', '-c', '3', ...options, file],
        ...['synth', '0.2', 'sine', '440', 'sine', '1200', 'sine', '2200', 'vol', '0.7'],
      ])
      const reader = openWav(file)
      expect(reader).toMatchObject({ sampleFormat, sampleRateHz: 22050, channelCount: 3 })
      expect(reader.frameCount).toBe(4410)
      reader.close()
      const theirs = soxReads(file)
      const { channels } = readAll(file, 999)
      const step = sampleFormat === 'u8' ? 1 / 127 : 1 / 32767
      channels.forEach((channel, index) => {
        for (let at = 0; at < channel.length; at++)
          expect(Math.abs(channel[at]! - theirs[at * 3 + index]!)).toBeLessThanOrEqual(step)
      })
    })

    it.each(formats)('sox reads our %s', (sampleFormat) => {
      const file = place('ours.wav')
      const wav = createWav(file, {
        sampleRateHz: 11025,
        sampleFormat,
        channelCount: 2,
        channel: 1,
      })
      wav.write(samples)
      wav.writeSilence(25)
      wav.close()
      const theirs = soxReads(file)
      expect(theirs).toHaveLength(250)
      const step = sampleFormat === 'u8' ? 1 / 127 : 1 / 32767
      for (let at = 0; at < 125; at++) {
        expect(theirs[2 * at]).toBe(0)
        // half a step of rounding, and one because sox scales positive values by 2^n, we by 2^n - 1
        expect(Math.abs(theirs[2 * at + 1]! - (samples[at] ?? 0))).toBeLessThanOrEqual(1.5 * step)
      }
    })
  },
)

describe('WAV writer', () => {
  it('the file of a process that died can be read', () => {
    const file = place('dead.wav')
    const wav = createWav(file, { sampleRateHz: 8000, sampleFormat: 's16le', channelCount: 1 })
    wav.write(samples)
    wav.writeSilence(100_000)
    wav.write(samples)
    // never closed
    const { channels } = readAll(file)
    expect(channels[0]).toHaveLength(100_200)
    wav.close()
    expect(readAll(file).channels[0]).toHaveLength(100_200)
    expect(readAll(file).warnings).toEqual([])
  })

  it('fills an odd chunk up to an even length', () => {
    const file = place('odd.wav')
    const wav = createWav(file, { sampleRateHz: 8000, sampleFormat: 'u8', channelCount: 1 })
    wav.write(ramp(3))
    wav.close()
    const octets = readFileSync(file)
    expect(octets.length % 2).toBe(0)
    expect(octets.readUInt32LE(4)).toBe(octets.length - 8)
    expect(readAll(file).channels[0]).toHaveLength(3)
  })

  it('becomes RF64 beyond 4 GiB', () => {
    const layout = { sampleRateHz: 192_000, sampleFormat: 's16le', channelCount: 2 } as const
    const dataOctets = 2 ** 32 + 400
    const header = wavHeader(layout, dataOctets)
    const range = {
      size: header.length + dataOctets,
      read: (at: number, length: number) => header.subarray(at, at + length),
    }
    expect(readWavHeader(range, 'wide')).toEqual({
      ...layout,
      dataAt: header.length,
      dataOctets,
      warnings: [],
    })
  })

  it('says which file cannot be written', () => {
    const options = { sampleRateHz: 8000, sampleFormat: 's16le', channelCount: 1 } as const
    const failure = failureOf(() => createWav(place('no/such/place.wav'), options))
    expect(failure.code).toBe('audio-unwritable')
  })
})
