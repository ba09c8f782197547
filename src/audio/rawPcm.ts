import nodeWav from 'node-wav'
import type { SampleFormat } from './audioDevice.js'

const octetsOfFormat: Readonly<Record<SampleFormat, number>> = {
  u8: 1,
  s16le: 2,
  s16be: 2,
  s24le: 3,
  s32le: 4,
  f32le: 4,
  f64le: 8,
}

/** Octets of one sample of one channel. */
export const octetsPerSample = (format: SampleFormat): number => octetsOfFormat[format]

/** A place for octets that are to become samples; used over and over, so that nothing is copied on the way. */
export interface PcmSlice {
  /** room for whole sample frames, to be filled */
  readonly octets: Uint8Array
  /**
   * The first frames of `octets` as samples.
   * @returns one array a channel, full scale ±1; values that are not numbers become 0, floats beyond full scale stay
   */
  decode(frameCount: number): Float32Array[]
}

/**
 * node-wav does the conversion. It decodes whole files only and wants its samples aligned, so each slice has a header
 * of its own in front: that keeps memory at the size of a slice however long the recording is.
 */
export function createPcmSlice(
  format: SampleFormat,
  channelCount: number,
  frameCountMax: number,
): PcmSlice {
  const frameOctets = octetsOfFormat[format] * channelCount
  const file = new ArrayBuffer(headerOctets + frameCountMax * frameOctets)
  const octets = new Uint8Array(file, headerOctets)
  const view = new DataView(file)
  return {
    octets,
    decode(frameCount) {
      const dataOctets = frameCount * frameOctets
      writeSliceHeader(view, format, channelCount, dataOctets)
      if (format === 's16be') Buffer.from(file, headerOctets, dataOctets).swap16()
      const channels = [...nodeWav.decode(file).channelData]
      for (const channel of channels) mend(channel, format)
      return channels
    },
  }
}

/**
 * Interleaved PCM to one array a channel, as PcmSlice.decode does.
 * @param octets whole sample frames; a rest shorter than a frame is ignored
 */
export function decodePcm(
  octets: Uint8Array,
  format: SampleFormat,
  channelCount: number,
): Float32Array[] {
  const frameOctets = octetsOfFormat[format] * channelCount
  const frameCount = Math.floor(octets.length / frameOctets)
  const slice = createPcmSlice(format, channelCount, frameCount)
  slice.octets.set(octets.subarray(0, frameCount * frameOctets))
  return slice.decode(frameCount)
}

/**
 * One channel to PCM, at `channel` of `channelCount` interleaved channels; the others are silent.
 * Values beyond full scale are clipped; what is not a number becomes 0.
 */
export function encodePcm(
  samples: Float32Array,
  format: SampleFormat,
  channel = 0,
  channelCount = 1,
): Uint8Array {
  const stride = octetsOfFormat[format] * channelCount
  const octets = new Uint8Array(samples.length * stride)
  if (format === 'u8') octets.fill(128)
  const view = new DataView(octets.buffer)
  const write = writers[format]
  let at = channel * octetsOfFormat[format]
  for (let index = 0; index < samples.length; index++) {
    const value = samples[index]!
    write(view, at, value > 1 ? 1 : value < -1 ? -1 : Number.isNaN(value) ? 0 : value)
    at += stride
  }
  return octets
}

/** A stream of octets, cut anywhere, to blocks of samples. */
export interface PcmDecoder {
  /** @returns one array a channel, all of one length, which may be 0 */
  push(octets: Uint8Array): Float32Array[]
  /** octets of an unfinished sample frame that are waiting for the rest */
  readonly pendingOctets: number
  /** Forgets an unfinished sample frame, for a stream that starts anew. */
  reset(): void
}

export function createPcmDecoder(format: SampleFormat, channelCount: number): PcmDecoder {
  const frameOctets = octetsOfFormat[format] * channelCount
  let rest = new Uint8Array(0)
  return {
    push(octets) {
      let whole = octets
      if (rest.length > 0) {
        whole = new Uint8Array(rest.length + octets.length)
        whole.set(rest)
        whole.set(octets, rest.length)
      }
      const usable = whole.length - (whole.length % frameOctets)
      rest = whole.slice(usable)
      return decodePcm(whole.subarray(0, usable), format, channelCount)
    },
    get pendingOctets() {
      return rest.length
    },
    reset() {
      rest = new Uint8Array(0)
    },
  }
}

// RIFF 12, fmt 24, a filler chunk of 12 and the data chunk's own 8: 56, so that 64-bit floats lie aligned too.
const headerOctets = 56

/** @see Multimedia Programming Interface and Data Specifications 1.0 (1991), chapter 3, on RIFF WAVE (from memory) */
function writeSliceHeader(
  view: DataView,
  format: SampleFormat,
  channelCount: number,
  dataOctets: number,
): void {
  const isFloat = format === 'f32le' || format === 'f64le'
  const sampleOctets = octetsOfFormat[format]
  writeTag(view, 0, 'RIFF')
  view.setUint32(4, headerOctets - 8 + dataOctets, true)
  writeTag(view, 8, 'WAVE')
  writeTag(view, 12, 'fmt ')
  view.setUint32(16, 16, true)
  view.setUint16(20, isFloat ? 3 : 1, true)
  view.setUint16(22, channelCount, true)
  view.setUint32(24, 8000, true) // node-wav hands the rate back and does nothing else with it
  view.setUint32(28, 8000 * channelCount * sampleOctets, true)
  view.setUint16(32, channelCount * sampleOctets, true)
  view.setUint16(34, 8 * sampleOctets, true)
  writeTag(view, 36, 'JUNK')
  view.setUint32(40, 4, true)
  writeTag(view, 48, 'data')
  view.setUint32(52, dataOctets, true)
}

export function writeTag(view: DataView, at: number, tag: string): void {
  for (let index = 0; index < tag.length; index++) view.setUint8(at + index, tag.charCodeAt(index))
}

/** Integers cannot exceed full scale, except that node-wav reads the lowest 24-bit value as the highest. */
function mend(channel: Float32Array, format: SampleFormat): void {
  if (format === 's24le') {
    for (let index = 0; index < channel.length; index++)
      if (channel[index]! > 1) channel[index] = -1
  } else if (format === 'f32le' || format === 'f64le') {
    for (let index = 0; index < channel.length; index++)
      if (!Number.isFinite(channel[index]!)) channel[index] = 0
  }
}

type Writer = (view: DataView, at: number, value: number) => void

/** The inverse of node-wav's reading: positive values by 2^(n-1) - 1, negative ones by 2^(n-1), rounded. */
const scaled = (value: number, half: number): number =>
  Math.round(value < 0 ? value * half : value * (half - 1))

const writers: Readonly<Record<SampleFormat, Writer>> = {
  u8: (view, at, value) => view.setUint8(at, 128 + scaled(value, 128)),
  s16le: (view, at, value) => view.setInt16(at, scaled(value, 2 ** 15), true),
  s16be: (view, at, value) => view.setInt16(at, scaled(value, 2 ** 15), false),
  s24le: (view, at, value) => {
    const whole = scaled(value, 2 ** 23)
    view.setUint16(at, whole & 0xffff, true)
    view.setUint8(at + 2, (whole >> 16) & 0xff)
  },
  s32le: (view, at, value) => view.setInt32(at, scaled(value, 2 ** 31), true),
  f32le: (view, at, value) => view.setFloat32(at, value, true),
  f64le: (view, at, value) => view.setFloat64(at, value, true),
}
