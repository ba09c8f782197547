import { computeFcs } from './fcs.js'

export interface HdlcStreamOptions {
  /** each without FCS; the encoder appends it */
  readonly frames: readonly Uint8Array[]
  /** flags before the first frame, its opening flag included; at least 1 */
  readonly leadingFlags: number
  /** flags after the last frame, its closing flag included; at least 1 */
  readonly trailingFlags: number
  /** flags between two frames; 1 means that they share it */
  readonly flagsBetween?: number
}

/**
 * Frames as a stream of data bits (before NRZI): flags, octets least significant bit first, FCS, zero insertion.
 * @returns one bit (0 or 1) an element
 * @throws RangeError for a count of flags below 1
 * @see AX.25 2.2 sections 3.1, 3.6, 3.8
 */
export function encodeHdlc(options: HdlcStreamOptions): Uint8Array {
  const { frames, leadingFlags, trailingFlags, flagsBetween = 1 } = options
  for (const count of [leadingFlags, trailingFlags, flagsBetween]) checkFlagCount(count)

  const octetCount = frames.reduce((sum, frame) => sum + frame.length + 2, 0)
  const flagCount = leadingFlags + trailingFlags + flagsBetween * Math.max(0, frames.length - 1)
  // Zero insertion adds at most one bit to five.
  const bits = new Uint8Array(flagCount * 8 + Math.ceil((octetCount * 8 * 6) / 5))
  let at = putFlags(bits, 0, leadingFlags)
  frames.forEach((frame, index) => {
    at = putFrame(bits, at, frame)
    at = putFlags(bits, at, index === frames.length - 1 ? trailingFlags : flagsBetween)
  })
  if (frames.length === 0) at = putFlags(bits, at, trailingFlags)
  return bits.subarray(0, at)
}

/**
 * How many bits that stream has, without making it.
 * @throws RangeError for a count of flags below 1
 */
export function hdlcBitCount(options: HdlcStreamOptions): number {
  const { frames, leadingFlags, trailingFlags, flagsBetween = 1 } = options
  for (const count of [leadingFlags, trailingFlags, flagsBetween]) checkFlagCount(count)
  const flagCount = leadingFlags + trailingFlags + flagsBetween * Math.max(0, frames.length - 1)
  let bitCount = flagCount * 8
  for (const frame of frames) bitCount += frameBitCount(frame)
  return bitCount
}

function frameBitCount(frame: Uint8Array): number {
  const fcs = computeFcs(frame)
  let ones = 0
  let insertedCount = 0
  const count = (octet: number): void => {
    const step = insertionSteps[ones * 256 + octet]!
    ones = step & 7
    insertedCount += step >>> 3
  }
  for (const octet of frame) count(octet)
  count(fcs & 0xff)
  count(fcs >>> 8)
  return (frame.length + 2) * 8 + insertedCount
}

/** For 0 to 4 ones before an octet, and each octet: the ones at its end, and from bit 3 on how many zeros were inserted. */
const insertionSteps = buildInsertionSteps()

function buildInsertionSteps(): Uint8Array {
  const steps = new Uint8Array(5 * 256)
  for (let index = 0; index < steps.length; index++) {
    let ones = index >>> 8
    let insertedCount = 0
    for (let shift = 0; shift < 8; shift++) {
      ones = (index >>> shift) & 1 ? ones + 1 : 0
      if (ones < 5) continue
      ones = 0
      insertedCount++
    }
    steps[index] = (insertedCount << 3) | ones
  }
  return steps
}

const flagBits = [0, 1, 1, 1, 1, 1, 1, 0] as const

function checkFlagCount(count: number): void {
  if (!Number.isInteger(count) || count < 1)
    throw new RangeError(`HDLC: got ${count} flags, expected a whole number of at least 1`)
}

function putFlags(bits: Uint8Array, start: number, count: number): number {
  for (let flag = 0; flag < count; flag++) bits.set(flagBits, start + flag * 8)
  return start + count * 8
}

function putFrame(bits: Uint8Array, start: number, frame: Uint8Array): number {
  const fcs = computeFcs(frame)
  let at = start
  let ones = 0
  const putOctet = (octet: number): void => {
    for (let shift = 0; shift < 8; shift++) {
      const bit = (octet >>> shift) & 1
      bits[at++] = bit
      ones = bit === 1 ? ones + 1 : 0
      if (ones === 5) {
        bits[at++] = 0
        ones = 0
      }
    }
  }
  for (const octet of frame) putOctet(octet)
  putOctet(fcs & 0xff)
  putOctet(fcs >>> 8)
  return at
}
