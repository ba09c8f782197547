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

/**
 * Interleaved PCM to one array a channel, full scale ±1; values that are not numbers become 0, floats beyond full scale
 * stay.
 * @param octets whole sample frames; a rest shorter than a frame is ignored
 */
export function decodePcm(
  octets: Uint8Array,
  format: SampleFormat,
  channelCount: number,
): Float32Array[] {
  const frameCount = Math.floor(octets.length / (octetsOfFormat[format] * channelCount))
  return Array.from({ length: channelCount }, (_, channel) => {
    const samples = new Float32Array(frameCount)
    channelInto(samples, octets, format, channel, channelCount)
    return samples
  })
}

/** @param samples as many as are to be read */
function channelInto(
  samples: Float32Array,
  octets: Uint8Array,
  format: SampleFormat,
  channel: number,
  channelCount: number,
): void {
  if (format === 's16le' && isLittleEndian && octets.byteOffset % 2 === 0) {
    const whole = new Int16Array(octets.buffer, octets.byteOffset, octets.length >> 1)
    read16Into(samples, whole, channel, channelCount)
    return
  }
  const sampleOctets = octetsOfFormat[format]
  const view = new DataView(octets.buffer, octets.byteOffset, octets.byteLength)
  readInto(samples, view, channel * sampleOctets, sampleOctets * channelCount, readers[format])
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
  /**
   * @param octets none is kept
   * @returns one array a channel, all of one length, which may be 0
   */
  push(octets: Uint8Array): Float32Array[]
  /** octets of an unfinished sample frame that are waiting for the rest */
  readonly pendingOctets: number
  /** Forgets an unfinished sample frame, for a stream that starts anew. */
  reset(): void
}

export function createPcmDecoder(format: SampleFormat, channelCount: number): PcmDecoder {
  const frames = frameCutter(octetsOfFormat[format] * channelCount)
  return {
    push: (octets) => decodePcm(frames.cut(octets), format, channelCount),
    get pendingOctets() {
      return frames.pendingOctets
    },
    reset: frames.reset,
  }
}

/** The same for one of the channels, always in the same memory: audio that is heard once needs no more. */
export interface ChannelDecoder {
  /**
   * @param octets none is kept
   * @returns whole samples, perhaps none; valid until the next call
   */
  push(octets: Uint8Array): Float32Array
  /** Forgets an unfinished sample frame, for a stream that starts anew. */
  reset(): void
}

/** @param channel of `channelCount` interleaved ones; 0 is the first */
export function createChannelDecoder(
  format: SampleFormat,
  channel: number,
  channelCount: number,
): ChannelDecoder {
  const frameOctets = octetsOfFormat[format] * channelCount
  const frames = frameCutter(frameOctets)
  let room = new Float32Array(0)
  return {
    push(octets) {
      const whole = frames.cut(octets)
      const count = whole.length / frameOctets
      if (room.length < count) room = new Float32Array(count)
      const samples = room.subarray(0, count)
      channelInto(samples, whole, format, channel, channelCount)
      return samples
    },
    reset: frames.reset,
  }
}

interface FrameCutter {
  /** @returns whole frames; valid as long as the octets are */
  cut(octets: Uint8Array): Uint8Array
  readonly pendingOctets: number
  reset(): void
}

/** Of octets that are cut anywhere; what is left over stands before the next ones. */
function frameCutter(frameOctets: number): FrameCutter {
  let rest = nothing
  return {
    cut(octets) {
      let whole = octets
      if (rest.length > 0) {
        whole = new Uint8Array(rest.length + octets.length)
        whole.set(rest)
        whole.set(octets, rest.length)
      }
      const usable = whole.length - (whole.length % frameOctets)
      // A copy: a Buffer's own slice would be a view of what is written anew.
      rest = usable === whole.length ? nothing : Uint8Array.from(whole.subarray(usable))
      return whole.subarray(0, usable)
    },
    get pendingOctets() {
      return rest.length
    },
    reset() {
      rest = nothing
    },
  }
}

const nothing = new Uint8Array(0)

export function writeTag(view: DataView, at: number, tag: string): void {
  for (let index = 0; index < tag.length; index++) view.setUint8(at + index, tag.charCodeAt(index))
}

/** As this machine has its own numbers. */
const isLittleEndian = new Uint8Array(Uint16Array.of(1).buffer)[0] === 1

/** The usual format, as unscaled: an array of 16-bit numbers is read at a fifth of the cost of a view. */
function read16Into(samples: Float32Array, from: Int16Array, first: number, stride: number): void {
  for (let index = 0, at = first; index < samples.length; index++, at += stride) {
    const value = from[at]!
    samples[index] = value / (value < 0 ? 2 ** 15 : 2 ** 15 - 1)
  }
}

type Reader = (view: DataView, at: number) => number

/** On its own, so that it is compiled while it runs. */
function readInto(
  samples: Float32Array,
  view: DataView,
  from: number,
  stride: number,
  read: Reader,
): void {
  for (let index = 0, at = from; index < samples.length; index++, at += stride)
    samples[index] = read(view, at)
}

/** Positive values by 2^(n-1) - 1, negative ones by 2^(n-1), so that both ends are full scale. */
const unscaled = (value: number, half: number): number => value / (value < 0 ? half : half - 1)

/** As a single; beyond its range is no number either. */
const ifNumber = (value: number): number => (Number.isFinite(Math.fround(value)) ? value : 0)

const readers: Readonly<Record<SampleFormat, Reader>> = {
  u8: (view, at) => unscaled(view.getUint8(at) - 128, 128),
  s16le: (view, at) => unscaled(view.getInt16(at, true), 2 ** 15),
  s16be: (view, at) => unscaled(view.getInt16(at, false), 2 ** 15),
  s24le: (view, at) => unscaled(view.getUint16(at, true) | (view.getInt8(at + 2) << 16), 2 ** 23),
  s32le: (view, at) => unscaled(view.getInt32(at, true), 2 ** 31),
  f32le: (view, at) => ifNumber(view.getFloat32(at, true)),
  f64le: (view, at) => ifNumber(view.getFloat64(at, true)),
}

type Writer = (view: DataView, at: number, value: number) => void

/** The inverse of unscaled, rounded. */
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
