import { encodeHdlc, type HdlcStreamOptions, hdlcBitCount } from '../framing/hdlcEncoder.js'
import { encodeNrzi } from '../framing/nrzi.js'
import { type ModulatorOptions, modulateLevels, symbolRateHz } from './modulator.js'

export interface TransmissionOptions extends ModulatorOptions {
  /** each without FCS */
  readonly frames: readonly Uint8Array[]
  /** flags before the first frame's opening flag, rounded up to whole octets */
  readonly preambleMs: number
  /** flags after the last frame's closing flag, rounded up to whole octets */
  readonly tailMs: number
}

/**
 * The audio of one transmission: preamble, frames that share one flag between them, tail.
 * @returns mono samples at sampleRateHz, ±peakLevel at most
 * @throws RangeError when a rate or a time is out of range
 */
export function modulateTransmission(options: TransmissionOptions): Float32Array {
  return modulateLevels(encodeNrzi(encodeHdlc(streamOf(options))), options)
}

/** How long that audio lasts. */
export function transmissionDurationMs(
  options: FlagsAndFrames & Pick<TransmissionOptions, 'symbolRateErrorPpm'>,
): number {
  const symbolHz = symbolRateHz * (1 + (options.symbolRateErrorPpm ?? 0) * 1e-6)
  return (hdlcBitCount(streamOf(options)) * 1000) / symbolHz
}

type FlagsAndFrames = Pick<TransmissionOptions, 'frames' | 'preambleMs' | 'tailMs'>

const streamOf = ({ frames, preambleMs, tailMs }: FlagsAndFrames): HdlcStreamOptions => ({
  frames,
  leadingFlags: flagsFor(preambleMs) + 1,
  trailingFlags: flagsFor(tailMs) + 1,
})

function flagsFor(ms: number): number {
  if (!(ms >= 0 && ms <= timeMsMax))
    throw new RangeError(`transmission: got ${ms} ms of flags, expected 0 to ${timeMsMax} ms`)
  const flags = (ms * symbolRateHz) / 8000
  // 300 ms are 45 flags; a rounding error must not make them 46.
  return Math.ceil(flags - 1e-9)
}

/** Longer than any transmitter needs to come up. */
const timeMsMax = 60_000
