import { Failure } from '../runtime/failure.js'
import type { PcmLayout, SampleFormat } from './audioDevice.js'

/** Where a WAV file's samples lie, and how. */
export interface WavHeader extends PcmLayout {
  /** first octet of the samples */
  readonly dataAt: number
  /** octets of whole sample frames that are there to read; Infinity on a stream without a stated end */
  readonly dataOctets: number
  /** what was wrong with the header but could be put right, in words */
  readonly warnings: readonly string[]
}

/** Random access to a file's octets, or to the beginning of a stream. */
export interface OctetRange {
  /** octets in all; Infinity on a stream */
  readonly size: number
  /** @returns up to `length` octets; fewer only at the end */
  read(at: number, length: number): Uint8Array
}

/** What a receiver can use; below 8 kHz the space tone's sidebands do not fit. */
const sampleRateHzMin = 8000
const sampleRateHzMax = 192_000
const channelCountMax = 256

/**
 * Finds format and samples in a RIFF WAVE or RF64 file, past any other chunks, and distrusts every size: recorders that
 * lost power leave 0, 0xFFFFFFFF or the size that they hoped for.
 * @param name stands in messages
 * @throws Failure 'wav-empty', 'wav-not-audio', 'wav-format', 'wav-no-data', 'wav-rate', 'wav-channels'
 * @see Multimedia Programming Interface and Data Specifications 1.0 (1991), chapter 3; EBU Tech 3306 on RF64 (from memory)
 */
export function readWavHeader(range: OctetRange, name: string): WavHeader {
  const container = readContainer(range, name)
  const { format, data, wideDataOctets, warnings } = walkChunks(range, name)
  if (format === undefined)
    throw new Failure({
      code: 'wav-format',
      subject: name,
      got: 'no format chunk ("fmt ")',
      expected: 'one before the samples',
      advice: 'the file is damaged at its beginning; its samples could be read as raw PCM',
    })
  if (data === undefined)
    throw new Failure({
      code: 'wav-no-data',
      subject: `${name}: after the format chunk`,
      got: 'no chunk with samples ("data")',
      expected: 'one',
      advice: 'the recording ended before the first sample was written',
    })
  const layout = readFormat(format, name, warnings)
  const stated =
    container === 'RF64' && data.stated === unknownSize && wideDataOctets !== undefined
      ? wideDataOctets
      : data.stated
  const there = range.size - data.at
  const dataOctets = believableOctets(stated, there, range, data.at, warnings)
  const frameOctets = layout.frameOctets
  return {
    sampleRateHz: layout.sampleRateHz,
    sampleFormat: layout.sampleFormat,
    channelCount: layout.channelCount,
    dataAt: data.at,
    dataOctets: dataOctets === Infinity ? Infinity : dataOctets - (dataOctets % frameOctets),
    warnings,
  }
}

const unknownSize = 0xffff_ffff

function readContainer(range: OctetRange, name: string): string {
  if (range.size === 0)
    throw new Failure({
      code: 'wav-empty',
      subject: name,
      got: 'an empty file',
      expected: 'a WAV file',
    })
  const head = range.read(0, 12)
  const id = tagAt(head, 0)
  if ((id !== 'RIFF' && id !== 'RF64') || tagAt(head, 8) !== 'WAVE')
    throw new Failure({
      code: 'wav-not-audio',
      subject: name,
      got: whatItLooksLike(head),
      expected: 'a WAV file (RIFF ... WAVE)',
      advice: 'convert it to WAV, or give raw PCM with --rate',
    })
  return id
}

interface Chunks {
  format: Uint8Array | undefined
  data: { at: number; stated: number } | undefined
  /** size of the samples as an RF64 file's ds64 chunk has it */
  wideDataOctets: number | undefined
  warnings: string[]
}

function walkChunks(range: OctetRange, name: string): Chunks {
  const found: Chunks = {
    format: undefined,
    data: undefined,
    wideDataOctets: undefined,
    warnings: [],
  }
  let at = 12
  while (found.format === undefined || found.data === undefined) {
    const head = range.read(at, 8)
    if (head.length < 8) break
    const id = tagAt(head, 0)
    const size = uint32At(head, 4)
    if (id === 'fmt ') found.format = range.read(at + 8, Math.min(size, 40))
    else if (id === 'ds64') found.wideDataOctets = uint64At(range.read(at + 8, 16), 8)
    else if (id === 'data') {
      found.data = { at: at + 8, stated: size }
      // Samples usually come last, and a stream cannot be read past them.
      if (found.format !== undefined || range.size === Infinity) break
    } else if (!isTag(head))
      throw new Failure({
        code: 'wav-not-audio',
        subject: `${name}: octet ${at}`,
        got: 'something that is not a RIFF chunk',
        expected: 'a chunk name of four printable characters',
        advice: 'the file is damaged before its samples',
      })
    at = nextChunkAt(range, at + 8 + size)
  }
  return found
}

/** Chunks begin at even places; some writers forget the filler octet. */
function nextChunkAt(range: OctetRange, end: number): number {
  if (end % 2 === 0) return end
  return !isTag(range.read(end + 1, 4)) && isTag(range.read(end, 4)) ? end : end + 1
}

interface Format extends PcmLayout {
  readonly frameOctets: number
}

function readFormat(chunk: Uint8Array, name: string, warnings: string[]): Format {
  const place = `${name}: format chunk`
  if (chunk.length < 16)
    throw new Failure({
      code: 'wav-format',
      subject: place,
      got: `${chunk.length} octets`,
      expected: '16 or more',
      advice: 'the file is damaged at its beginning',
    })
  const view = new DataView(chunk.buffer, chunk.byteOffset, chunk.length)
  const outerTag = view.getUint16(0, true)
  const channelCount = view.getUint16(2, true)
  const sampleRateHz = view.getUint32(4, true)
  const blockOctets = view.getUint16(12, true)
  const bits = view.getUint16(14, true)
  // WAVE_FORMAT_EXTENSIBLE: the real tag is the first field of the sub-format's GUID.
  const tag = outerTag === 0xfffe && chunk.length >= 26 ? view.getUint16(24, true) : outerTag
  checkChannels(channelCount, place)
  checkSampleRate(sampleRateHz, place)
  const statedOctets = Math.ceil(bits / 8)
  // 12 bits in 16, or 20 in 24: the container counts, its upper bits are the sample's.
  let sampleOctets = blockOctets / channelCount
  if (sampleOctets !== statedOctets && !(Number.isInteger(sampleOctets) && sampleOctets <= 8)) {
    warnings.push(`says ${blockOctets} octets a sample frame for ${channelCount} × ${bits} bit`)
    sampleOctets = statedOctets
  }
  const sampleFormat = formatOf(tag, sampleOctets)
  if (sampleFormat === undefined)
    throw new Failure({
      code: 'wav-format',
      subject: place,
      got: `${nameOfTag(tag)}, ${bits} bit`,
      expected: 'PCM of 8, 16, 24 or 32 bit, or float of 32 or 64 bit',
      advice: 'convert it to 16-bit PCM',
    })
  return { sampleRateHz, channelCount, sampleFormat, frameOctets: sampleOctets * channelCount }
}

function checkChannels(channelCount: number, subject: string): void {
  if (channelCount < 1 || channelCount > channelCountMax)
    throw new Failure({
      code: 'wav-channels',
      subject,
      got: `${channelCount} channels`,
      expected: `1 to ${channelCountMax}`,
      advice: 'the file is damaged at its beginning',
    })
}

/** @throws Failure 'wav-rate' for a rate that no receiver takes */
export function checkSampleRate(sampleRateHz: number, subject: string): void {
  if (sampleRateHz < sampleRateHzMin || sampleRateHz > sampleRateHzMax)
    throw new Failure({
      code: 'wav-rate',
      subject,
      got: `${sampleRateHz} samples a second`,
      expected: `${sampleRateHzMin} to ${sampleRateHzMax}`,
      advice:
        sampleRateHz < sampleRateHzMin
          ? 'the tones of 1200 and 2200 Hz need 8000 or more; record anew at a higher rate'
          : 'resample it to 48000',
    })
}

function formatOf(tag: number, sampleOctets: number): SampleFormat | undefined {
  if (tag === 1) return (['u8', 's16le', 's24le', 's32le'] as const)[sampleOctets - 1]
  if (tag === 3) return sampleOctets === 4 ? 'f32le' : sampleOctets === 8 ? 'f64le' : undefined
  return undefined
}

/** @see RFC 2361, WAVE codec registry */
function nameOfTag(tag: number): string {
  const names: Record<number, string> = {
    1: 'PCM',
    2: 'ADPCM',
    3: 'float',
    6: 'A-law',
    7: 'mu-law',
    17: 'IMA ADPCM',
    49: 'GSM 6.10',
    85: 'MPEG layer 3',
  }
  return names[tag] ?? `format 0x${tag.toString(16).padStart(4, '0')}`
}

function believableOctets(
  stated: number,
  there: number,
  range: OctetRange,
  dataAt: number,
  warnings: string[],
): number {
  if (stated === unknownSize || (stated === 0 && !chunkFits(range.read(dataAt, 8), there))) {
    if (there !== Infinity && there > 0)
      warnings.push(`its header does not say how much audio follows; reading all ${there} octets`)
    return there
  }
  if (stated <= there) {
    const end = stated + (stated % 2)
    // A recorder that brings its header up to date now and then, and died in between, left audio behind the stated end.
    if (there === Infinity || there - end < 8 || isTag(range.read(dataAt + end, 8))) return stated
    warnings.push(
      `its header promises ${stated} octets of audio, more follow; reading all ${there}`,
    )
    return there
  }
  if (there !== Infinity)
    warnings.push(
      `its header promises ${stated} octets of audio, ${there} are there; reading those`,
    )
  return there
}

/** Whether a header of eight octets could be the next chunk of a file with `there` octets left. */
const chunkFits = (head: Uint8Array, there: number): boolean =>
  isTag(head) && head.length === 8 && 8 + uint32At(head, 4) <= there

const tagAt = (octets: Uint8Array, at: number): string =>
  String.fromCharCode(...octets.subarray(at, at + 4))

const uint32At = (octets: Uint8Array, at: number): number =>
  new DataView(octets.buffer, octets.byteOffset).getUint32(at, true)

const uint64At = (octets: Uint8Array, at: number): number | undefined =>
  octets.length < at + 8
    ? undefined
    : Number(new DataView(octets.buffer, octets.byteOffset).getBigUint64(at, true))

/** Four characters from 0x20 to 0x7E, the first no space. */
const isTag = (octets: Uint8Array): boolean =>
  octets.length >= 4 &&
  octets[0] !== 0x20 &&
  octets.subarray(0, 4).every((octet) => octet >= 0x20 && octet <= 0x7e)

/** Names the commonest things that are handed over by mistake. */
/** @param head the first octets of a file, 12 or so */
export function whatItLooksLike(head: Uint8Array): string {
  const first = tagAt(head, 0)
  if (first === 'RIFX') return 'a big-endian WAV file (RIFX)'
  if (first === 'RIFF') return `a RIFF file of another kind (${JSON.stringify(tagAt(head, 8))})`
  const known: [RegExp, string][] = [
    [/^fLaC/, 'a FLAC file'],
    [/^OggS/, 'an Ogg file'],
    [/^\x1aE\xdf\xa3/, 'a Matroska or WebM file'],
    [/^ID3|^\xff[\xe2-\xfb]/, 'an MP3 file'],
    [/^FORM/, 'an AIFF file'],
    [/^\.snd/, 'a Sun audio file'],
    [/^caff/, 'a Core Audio file'],
    [/^\x1f\x8b|^PK/, 'a compressed archive'],
  ]
  if (tagAt(head, 4) === 'ftyp') return 'an MP4 file'
  const match = known.find(([pattern]) => pattern.test(first))
  if (match !== undefined) return match[1]
  const text = [...head].every((octet) => octet >= 0x20 || [9, 10, 13].includes(octet))
  return text ? `text (${JSON.stringify(String.fromCharCode(...head))})` : 'unknown data'
}
