import { closeSync, fstatSync, openSync, readSync } from 'node:fs'
import { Failure } from '../runtime/failure.js'
import { orFailure } from '../runtime/orFailure.js'
import type { PcmLayout } from './audioDevice.js'
import { decodePcm, octetsPerSample } from './rawPcm.js'
import { type OctetRange, readWavHeader } from './wavHeader.js'

/** An open WAV file, read slice by slice: memory does not grow with the file. */
export interface WavReader extends PcmLayout {
  readonly name: string
  /** sample frames that are there, whatever the header says */
  readonly frameCount: number
  readonly durationS: number
  /** what was wrong with the file but could be put right, in words */
  readonly warnings: readonly string[]
  /** sample frames read so far */
  readonly position: number
  /**
   * Reads the next slice.
   * @returns one array a channel, of up to `frameCountMax` samples; undefined at the end
   * @throws Failure 'audio-unreadable' when the medium fails
   */
  read(frameCountMax: number): Float32Array[] | undefined
  close(): void
}

/**
 * Reading is synchronous: a slice comes from the page cache in microseconds, and a virtual clock can drive it.
 * @throws Failure 'audio-unreadable', or one of those of readWavHeader
 */
export function openWav(file: string): WavReader {
  const descriptor = orFailure(recordingAt(file), () => openSync(file, 'r'))
  try {
    return wavReader(file, descriptor)
  } catch (error) {
    closeSync(descriptor)
    throw error
  }
}

function wavReader(file: string, descriptor: number): WavReader {
  const stat = orFailure(recordingAt(file), () => fstatSync(descriptor))
  if (!stat.isFile())
    throw new Failure({
      code: 'audio-unreadable',
      subject: file,
      got: stat.isDirectory() ? 'a directory' : 'a pipe or device',
      expected: 'a WAV file',
      advice: stat.isDirectory() ? 'name the files in it' : 'read it on standard input, as "-"',
    })
  const range: OctetRange = {
    size: stat.size,
    read: (at, length) => {
      const octets = new Uint8Array(length)
      return octets.subarray(0, readInto(octets, file, descriptor, at))
    },
  }
  const header = readWavHeader(range, file)
  const { sampleRateHz, sampleFormat, channelCount } = header
  const frameOctets = octetsPerSample(sampleFormat) * channelCount
  const frameCount = header.dataOctets / frameOctets
  let position = 0
  /** used over and over */
  let slice = new Uint8Array(0)
  return {
    name: file,
    sampleRateHz,
    sampleFormat,
    channelCount,
    frameCount,
    durationS: frameCount / sampleRateHz,
    warnings: header.warnings,
    get position() {
      return position
    },
    read(frameCountMax) {
      const frames = Math.min(frameCountMax, frameCount - position)
      if (frames <= 0) return undefined
      if (slice.length < frames * frameOctets) slice = new Uint8Array(frames * frameOctets)
      const octets = slice.subarray(0, frames * frameOctets)
      const count = readInto(octets, file, descriptor, header.dataAt + position * frameOctets)
      // A file that shrank while it was read ends there.
      const channels = decodePcm(octets.subarray(0, count), sampleFormat, channelCount)
      position += channels[0]!.length
      return channels[0]!.length > 0 ? channels : undefined
    },
    close: () => closeSync(descriptor),
  }
}

/** @returns octets read; fewer than there is room for only at the end of the file */
function readInto(octets: Uint8Array, file: string, descriptor: number, at: number): number {
  let filled = 0
  while (filled < octets.length) {
    const count = orFailure(recordingAt(`${file}: octet ${at + filled}`), () =>
      readSync(descriptor, octets, filled, octets.length - filled, at + filled),
    )
    if (count === 0) break
    filled += count
  }
  return filled
}

const recordingAt = (subject: string) =>
  ({ code: 'audio-unreadable', subject, cannotBe: 'read' }) as const
