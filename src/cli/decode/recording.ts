import { closeSync, openSync, readSync } from 'node:fs'
import type { Readable } from 'node:stream'
import type { SampleFormat } from '../../audio/audioDevice.js'
import { createPcmDecoder, octetsPerSample } from '../../audio/rawPcm.js'
import {
  checkSampleRate,
  readWavHeader,
  type WavHeader,
  whatItLooksLike,
} from '../../audio/wavHeader.js'
import { openWav } from '../../audio/wavReader.js'
import { errorText } from '../../runtime/errorText.js'
import { Failure } from '../../runtime/failure.js'
import type { RecordingHead } from './decodeFormat.js'

/** Audio that is read from its beginning to its end. */
export interface Recording extends RecordingHead {
  /** what was wrong but could be put right */
  readonly warnings: readonly string[]
  /** One array a channel, slice by slice; once. @throws Failure when the medium fails */
  blocks(): AsyncIterable<Float32Array[]>
  /** Ends blocks() too, also while it waits. Harmless when called twice. */
  close(): void
}

/** Sample frames read at a time: a third of a second at 48 kHz. */
const sliceFramesMax = 16_384
/** fewer with very many channels */
const sliceSamplesMax = 1 << 20

/** @throws Failure as openWav does */
export function openWavRecording(file: string): Recording {
  const reader = openWav(file)
  const sliceFrames = Math.min(sliceFramesMax, Math.ceil(sliceSamplesMax / reader.channelCount))
  let isClosed = false
  return {
    name: file,
    sampleRateHz: reader.sampleRateHz,
    channelCount: reader.channelCount,
    durationS: reader.durationS,
    warnings: reader.warnings,
    async *blocks() {
      for (let at = 0; ; at++) {
        const block = isClosed ? undefined : reader.read(sliceFrames)
        if (block === undefined) return
        yield block
        // Reading and decoding never wait: without this no signal and no slow output would get its turn.
        if (at % 16 === 15) await new Promise((resolve) => setImmediate(resolve))
      }
    },
    close() {
      if (!isClosed) reader.close()
      isClosed = true
    },
  }
}

export interface StreamLayout {
  readonly sampleRateHz: number
  readonly sampleFormat: SampleFormat
  readonly channelCount: number
}

/** What the first octets of a file say: a WAV file, or what else it seems to be. @throws Failure when it cannot be read */
export function kindOf(file: string): { isWav: boolean; looksLike: string } {
  let head: Buffer
  try {
    const descriptor = openSync(file, 'r')
    try {
      head = Buffer.alloc(12)
      head = head.subarray(0, readSync(descriptor, head, 0, 12, 0))
    } finally {
      closeSync(descriptor)
    }
  } catch {
    // Whatever is wrong with it is told when it is opened as what it should be.
    return { isWav: true, looksLike: '' }
  }
  const isWav = head.length < 12 || /^(RIFF|RF64)/.test(head.toString('latin1', 0, 4))
  return { isWav, looksLike: whatItLooksLike(head) }
}

/**
 * Standard input, or a pipe: raw PCM of the given layout, or a WAV file when none is given.
 * @param name stands in messages and in the output
 * @throws Failure (as a rejection) 'pcm-layout' when it is neither, 'wav-empty' when nothing comes, or as readWavHeader
 */
export async function openStreamRecording(
  stream: NodeJS.ReadableStream,
  name: string,
  layout: StreamLayout | undefined,
): Promise<Recording> {
  const chunks = chunksOf(stream, name)
  if (layout !== undefined) {
    checkSampleRate(layout.sampleRateHz, name)
    return streamRecording(name, chunks, new Uint8Array(0), layout, Infinity)
  }
  const { octets, header } = await readStart(chunks, name)
  return streamRecording(name, chunks, octets.subarray(header.dataAt), header, header.dataOctets)
}

interface Chunks {
  /** undefined at the end, and once closed. @throws Failure when the stream fails */
  next(): Promise<Buffer | undefined>
  /** Lets go of the stream, also while next() waits. */
  close(): void
}

function chunksOf(stream: NodeJS.ReadableStream, name: string): Chunks {
  const iterator = (stream as AsyncIterable<Buffer>)[Symbol.asyncIterator]()
  let isClosed = false
  return {
    async next() {
      try {
        const { value, done } = await iterator.next()
        return done === true ? undefined : value
      } catch (cause) {
        if (isClosed) return undefined
        throw new Failure({
          code: 'audio-unreadable',
          subject: name,
          problem: `cannot be read: ${errorText(cause)}`,
          cause,
        })
      }
    },
    close() {
      isClosed = true
      ;(stream as Readable).destroy()
    },
  }
}

/** A header may have pictures and notes in front of the samples, but not without end. */
const startOctetsMax = 1 << 20

/** Reads until the header is complete. */
async function readStart(
  chunks: Chunks,
  name: string,
): Promise<{ octets: Buffer; header: WavHeader }> {
  let octets: Buffer = Buffer.alloc(0)
  for (;;) {
    const chunk = await chunks.next()
    const isAll = chunk === undefined
    if (!isAll) octets = Buffer.concat([octets, chunk])
    if (octets.length < 12 && !isAll) continue
    if (octets.length > 0 && !/^(RIFF|RF64)/.test(octets.toString('latin1', 0, 4)))
      throw layoutFailure(name)
    try {
      const range = {
        size: isAll ? octets.length : Infinity,
        read: (at: number, length: number) => octets.subarray(at, at + length),
      }
      return { octets, header: readWavHeader(range, name) }
    } catch (error) {
      const isIncomplete = error instanceof Failure && /^wav-(no-data|format)$/.test(error.code)
      if (!isIncomplete || isAll || octets.length > startOctetsMax) throw error
    }
  }
}

const layoutFailure = (subject: string): Failure =>
  new Failure({
    code: 'pcm-layout',
    subject,
    got: 'something other than a WAV file',
    expected: 'a WAV file, or raw PCM with its sample rate',
    advice: 'give --rate, and --sample-format unless it is s16le',
  })

function streamRecording(
  name: string,
  chunks: Chunks,
  start: Uint8Array,
  layout: StreamLayout,
  octetsMax: number,
): Recording {
  const { sampleRateHz, channelCount, sampleFormat } = layout
  const frameOctets = octetsPerSample(sampleFormat) * channelCount
  return {
    name,
    sampleRateHz,
    channelCount,
    durationS: octetsMax === Infinity ? undefined : octetsMax / frameOctets / sampleRateHz,
    warnings: [],
    async *blocks() {
      const decoder = createPcmDecoder(sampleFormat, channelCount)
      let left = octetsMax
      let chunk = start
      for (;;) {
        const block = decoder.push(chunk.subarray(0, Math.min(chunk.length, left)))
        left -= chunk.length
        if (block[0]!.length > 0) yield block
        if (left <= 0) return
        const next = await chunks.next()
        if (next === undefined) return
        chunk = next
      }
    },
    close: chunks.close,
  }
}
