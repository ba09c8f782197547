import { closeSync, openSync, writeSync } from 'node:fs'
import { orFailure } from '../runtime/orFailure.js'
import type { PcmLayout } from './audioDevice.js'
import { encodePcm, octetsPerSample, writeTag } from './rawPcm.js'

/** A WAV file that grows. */
export interface WavWriter extends PcmLayout {
  readonly name: string
  /** sample frames written so far */
  readonly frameCount: number
  /**
   * Appends samples to one channel; the others get silence.
   * @throws Failure 'audio-unwritable' when the medium is full or fails
   */
  write(samples: Float32Array): void
  /** Appends whole sample frames of all channels as they are. */
  writeOctets(octets: Uint8Array): void
  /** Appends silence on all channels. */
  writeSilence(frames: number): void
  /** Writes the true sizes into the header. */
  close(): void
}

export interface WavWriterOptions extends PcmLayout {
  /** the channel that write() fills, 0 by default */
  readonly channel?: number
}

/**
 * Sizes in the header are brought up to date every few seconds of audio and at the end, so that any program can read the
 * file of a process that died. A file beyond 4 GiB becomes RF64, for which place is kept from the start.
 * @throws Failure 'audio-unwritable'
 */
export function createWav(file: string, options: WavWriterOptions): WavWriter {
  const { sampleRateHz, sampleFormat, channelCount, channel = 0 } = options
  const about = { code: 'audio-unwritable', subject: file, cannotBe: 'written' } as const
  const descriptor = orFailure(about, () => openSync(file, 'w'))
  const frameOctets = octetsPerSample(sampleFormat) * channelCount
  const headerIntervalOctets = 4 * sampleRateHz * frameOctets
  let dataOctets = 0
  let headerDueAt = 0

  const put = (octets: Uint8Array, at: number): void =>
    orFailure(about, () => {
      for (let done = 0; done < octets.length; )
        done += writeSync(descriptor, octets, done, octets.length - done, at + done)
    })
  const append = (octets: Uint8Array): void => {
    put(octets, headerOctets + dataOctets)
    dataOctets += octets.length
    if (dataOctets < headerDueAt) return
    headerDueAt = dataOctets + headerIntervalOctets
    put(wavHeader(options, dataOctets), 0)
  }

  put(wavHeader(options, 0), 0)
  return {
    name: file,
    sampleRateHz,
    sampleFormat,
    channelCount,
    get frameCount() {
      return dataOctets / frameOctets
    },
    write: (samples) => append(encodePcm(samples, sampleFormat, channel, channelCount)),
    writeOctets: append,
    writeSilence(frames) {
      const slice = encodePcm(new Float32Array(silenceFrames), sampleFormat, channel, channelCount)
      for (let left = frames; left > 0; left -= silenceFrames)
        append(slice.subarray(0, Math.min(left, silenceFrames) * frameOctets))
    },
    close() {
      try {
        // Chunks begin at even places.
        if (dataOctets % 2 === 1) put(new Uint8Array(1), headerOctets + dataOctets)
        put(wavHeader(options, dataOctets), 0)
      } finally {
        closeSync(descriptor)
      }
    },
  }
}

/**
 * All in front of the samples; RF64 where the sizes do not fit 32 bits.
 * @see the sources named in wavHeader.ts
 */
export function wavHeader(layout: PcmLayout, dataOctets: number): Uint8Array {
  const { sampleRateHz, sampleFormat, channelCount } = layout
  const sampleOctets = octetsPerSample(sampleFormat)
  const riffOctets = headerOctets - 8 + dataOctets + (dataOctets % 2)
  const isWide = riffOctets > sizeMax
  const octets = new Uint8Array(headerOctets)
  const view = new DataView(octets.buffer)
  writeTag(view, 0, isWide ? 'RF64' : 'RIFF')
  view.setUint32(4, isWide ? sizeMax : riffOctets, true)
  writeTag(view, 8, 'WAVE')
  writeTag(view, 12, isWide ? 'ds64' : 'JUNK')
  view.setUint32(16, 28, true)
  if (isWide) {
    view.setBigUint64(20, BigInt(riffOctets), true)
    view.setBigUint64(28, BigInt(dataOctets), true)
    view.setBigUint64(36, BigInt(dataOctets / (sampleOctets * channelCount)), true)
  }
  writeTag(view, 48, 'fmt ')
  view.setUint32(52, 18, true)
  view.setUint16(56, sampleFormat.startsWith('f') ? 3 : 1, true)
  view.setUint16(58, channelCount, true)
  view.setUint32(60, sampleRateHz, true)
  view.setUint32(64, sampleRateHz * channelCount * sampleOctets, true)
  view.setUint16(68, channelCount * sampleOctets, true)
  view.setUint16(70, sampleOctets * 8, true)
  writeTag(view, 74, 'data')
  view.setUint32(78, isWide ? sizeMax : dataOctets, true)
  return octets
}

const silenceFrames = 48_000
// RIFF 12, JUNK or ds64 36, fmt 26 (with the empty extension that float formats need), data 8
const headerOctets = 82
const sizeMax = 0xffff_ffff
