import { encodeFx25, type Fx25CheckOctetCount, fx25BitCount } from '../fec/fx25.js'
import { type Il2pStreamOptions, il2pLevelCount, il2pLevels } from '../fec/il2pStream.js'
import { encodeHdlc, type HdlcStreamOptions, hdlcBitCount } from '../framing/hdlcEncoder.js'
import { joined } from '../framing/joined.js'
import { encodeNrzi } from '../framing/nrzi.js'
import { type ModulatorOptions, modulateLevels, symbolRateHz } from './modulator.js'

export interface TransmissionOptions extends ModulatorOptions {
  /** each without FCS */
  readonly frames: readonly Uint8Array[]
  /** flags before the first frame's opening flag, rounded up to whole octets */
  readonly preambleMs: number
  /** flags after the last frame's closing flag, rounded up to whole octets */
  readonly tailMs: number
  /** forward error correction; none unless given, nor for a frame that is too long for it */
  readonly code?: SendingCode | undefined
  /** on the air; 1200 unless given */
  readonly bitRate?: BitRate | undefined
}

/** Bits a second on the air: 1200 as two tones, 9600 as levels (baseband/). */
export type BitRate = 1200 | 9600

/** The forward error correction that frames go out with. */
export type SendingCode =
  | { readonly kind: 'fx25'; readonly checkOctets: Fx25CheckOctetCount }
  | { readonly kind: 'il2p'; readonly hasCrc: boolean }

/**
 * The audio of one transmission: preamble, frames that share one flag between them, tail.
 * @returns mono samples at sampleRateHz, ±peakLevel at most
 * @throws RangeError when a rate or a time is out of range
 */
export function modulateTransmission(options: TransmissionOptions): Float32Array {
  return modulateLevels(transmissionLevels(options), options)
}

/** How long that audio lasts. */
export function transmissionDurationMs(
  options: FlagsAndFrames & Pick<TransmissionOptions, 'symbolRateErrorPpm'>,
): number {
  const symbolHz = bitRateOf(options) * (1 + (options.symbolRateErrorPpm ?? 0) * 1e-6)
  return (transmissionBitCount(options) * 1000) / symbolHz
}

type FlagsAndFrames = Pick<
  TransmissionOptions,
  'frames' | 'preambleMs' | 'tailMs' | 'code' | 'bitRate'
>

const bitRateOf = ({ bitRate }: Pick<TransmissionOptions, 'bitRate'>): number =>
  bitRate ?? symbolRateHz

const streamOf = (options: FlagsAndFrames): HdlcStreamOptions => ({
  frames: options.frames,
  leadingFlags: flagsFor(options.preambleMs, options) + 1,
  trailingFlags: flagsFor(options.tailMs, options) + 1,
})

/** In place of flags IL2P has as many alternating octets; a frame that is too long for it sends all of them plain. */
function il2pStreamOf(options: FlagsAndFrames): Il2pStreamOptions | undefined {
  if (options.code?.kind !== 'il2p') return undefined
  return {
    frames: options.frames,
    leadingOctets: flagsFor(options.preambleMs, options) + 1,
    trailingOctets: flagsFor(options.tailMs, options) + 1,
    hasCrc: options.code.hasCrc,
  }
}

/** Its line levels, 1 mark, as NRZI or IL2P has them: not scrambled yet. */
export function transmissionLevels(options: FlagsAndFrames): Uint8Array {
  const il2p = il2pStreamOf(options)
  return (il2p && il2pLevels(il2p)) ?? encodeNrzi(transmissionBits(options))
}

/** The data bits of one transmission, before NRZI. */
function transmissionBits(options: FlagsAndFrames): Uint8Array {
  const stream = streamOf(options)
  if (options.code?.kind !== 'fx25') return encodeHdlc(stream)
  const { checkOctets } = options.code
  const parts = stream.frames.flatMap((frame, index) => {
    const block = encodeFx25(frame, checkOctets) ?? encodeHdlc(betweenFlags(frame))
    return index === 0 ? [block] : [flags(1), block]
  })
  return joined([flags(stream.leadingFlags), ...parts, flags(stream.trailingFlags)])
}

/** How many they are, without making them. */
function transmissionBitCount(options: FlagsAndFrames): number {
  const il2p = il2pStreamOf(options)
  const il2pCount = il2p && il2pLevelCount(il2p)
  if (il2pCount !== undefined) return il2pCount
  const stream = streamOf(options)
  if (options.code?.kind !== 'fx25') return hdlcBitCount(stream)
  const { checkOctets } = options.code
  const { frames, leadingFlags, trailingFlags } = stream
  const between = Math.max(0, frames.length - 1)
  return frames.reduce(
    (sum, frame) => sum + (fx25BitCount(frame, checkOctets) ?? hdlcBitCount(betweenFlags(frame))),
    8 * (leadingFlags + between + trailingFlags),
  )
}

const betweenFlags = (frame: Uint8Array): HdlcStreamOptions => ({
  ...{ frames: [frame], leadingFlags: 1, trailingFlags: 1 },
})

/** Of no frames at all, the opening flag and the closing ones are made. */
const flags = (count: number): Uint8Array =>
  encodeHdlc({ frames: [], leadingFlags: 1, trailingFlags: count }).subarray(8)

function flagsFor(ms: number, options: FlagsAndFrames): number {
  if (!(ms >= 0 && ms <= timeMsMax))
    throw new RangeError(`transmission: got ${ms} ms of flags, expected 0 to ${timeMsMax} ms`)
  const flags = (ms * bitRateOf(options)) / 8000
  // 300 ms are 45 flags; a rounding error must not make them 46.
  return Math.ceil(flags - 1e-9)
}

/** Longer than any transmitter needs to come up. */
const timeMsMax = 60_000
