// FX.25 (version 01.06, 2006): an AX.25 frame as it always stands on the air, between its flags, then flags as filling and
// check octets of a Reed-Solomon code; a tag of 64 bits in front says which code. Whoever knows nothing of it reads the frame.
//
//   flags | tag, 8 octets | flag, stuffed frame with FCS, flag, flags as filling: k octets | n - k check octets | flags
//
// All octets least significant bit first, NRZI over everything. Values: test/published/fec.json (agreed in public tables).
import { createHdlcDecoder, type HdlcSegment } from '../framing/hdlcDecoder.js'
import { encodeHdlc, hdlcBitCount } from '../framing/hdlcEncoder.js'
import { createReedSolomon, type ReedSolomonCode } from './reedSolomon.js'

export const fx25CheckOctetCounts = [16, 32, 64] as const
export type Fx25CheckOctetCount = (typeof fx25CheckOctetCounts)[number]

export interface Fx25Code {
  readonly tag: number
  /** the tag's 32 bits that go out first, and the others; least significant bit first */
  readonly tagLow: number
  readonly tagHigh: number
  readonly dataOctetCount: number
  readonly checkOctetCount: Fx25CheckOctetCount
}

const code = (
  tag: number,
  tagHigh: number,
  tagLow: number,
  dataOctetCount: number,
  checkOctetCount: Fx25CheckOctetCount,
): Fx25Code => ({ tag, tagLow, tagHigh, dataOctetCount, checkOctetCount })

export const fx25Codes: readonly Fx25Code[] = [
  code(1, 0xb74db7df, 0x8a532f3e, 239, 16),
  code(2, 0x26ff60a6, 0x00cc8fde, 128, 16),
  code(3, 0xc7dc0508, 0xf3d9b09e, 64, 16),
  code(4, 0x8f056eb4, 0x369660ee, 32, 16),
  code(5, 0x6e260b1a, 0xc5835fae, 223, 32),
  code(6, 0xff94dc63, 0x4f1cff4e, 128, 32),
  code(7, 0x1eb7b9cd, 0xbc09c00e, 64, 32),
  code(8, 0xdbf869bd, 0x2dbb1776, 32, 32),
  code(9, 0x3adb0c13, 0xdeae2836, 191, 64),
  code(10, 0xab69db6a, 0x543188d6, 128, 64),
  code(11, 0x4a4abec4, 0xa724b796, 64, 64),
]

/** Bits of a tag, and of all that follows it in a block. */
export const fx25TagBits = 64
export const fx25BlockBits = (of: Fx25Code): number => 8 * (of.dataOctetCount + of.checkOctetCount)

/**
 * Tag, data and check octets of one frame as data bits, before NRZI.
 * @param frame without FCS
 * @returns undefined for a frame that is too long for any code with so many check octets: it goes out plain
 */
export function encodeFx25(
  frame: Uint8Array,
  checkOctetCount: Fx25CheckOctetCount,
): Uint8Array | undefined {
  const chosen = codeFor(frame, checkOctetCount)
  if (chosen === undefined) return undefined
  const trailingFlags = 1 + chosen.dataOctetCount
  const filled = encodeHdlc({ frames: [frame], leadingFlags: 1, trailingFlags })
  const dataBits = 8 * chosen.dataOctetCount
  const bits = new Uint8Array(fx25TagBits + fx25BlockBits(chosen))
  for (let bit = 0; bit < 32; bit++) {
    bits[bit] = (chosen.tagLow >>> bit) & 1
    bits[32 + bit] = (chosen.tagHigh >>> bit) & 1
  }
  bits.set(filled.subarray(0, dataBits), fx25TagBits)
  const check = checkOctetsOf(chosen, octetsOf(filled.subarray(0, dataBits)))
  check.forEach((octet, index) => {
    const at = fx25TagBits + dataBits + 8 * index
    for (let bit = 0; bit < 8; bit++) bits[at + bit] = (octet >>> bit) & 1
  })
  return bits
}

/** How many bits encodeFx25 makes, without making them. */
export function fx25BitCount(
  frame: Uint8Array,
  checkOctetCount: Fx25CheckOctetCount,
): number | undefined {
  const chosen = codeFor(frame, checkOctetCount)
  return chosen && fx25TagBits + fx25BlockBits(chosen)
}

/** The shortest one that holds the frame between its flags. */
function codeFor(frame: Uint8Array, checkOctetCount: number): Fx25Code | undefined {
  const bitCount = hdlcBitCount({ frames: [frame], leadingFlags: 1, trailingFlags: 1 })
  return fx25Codes
    .filter((one) => one.checkOctetCount === checkOctetCount)
    .sort((a, b) => a.dataOctetCount - b.dataOctetCount)
    .find((one) => 8 * one.dataOctetCount >= bitCount)
}

/** Where the octets of a shortened code that are not sent count as zeros: what is on the air says behind the data (from memory). */
export type ZerosPlace = 'behind' | 'before'

/** Check octets as they are sent. */
export function checkOctetsOf(
  of: Fx25Code,
  data: Uint8Array,
  zeros: ZerosPlace = 'behind',
): Uint8Array {
  return solomon(of).check(zeros === 'before' ? data : withZeros(of, data))
}

export interface Fx25Block {
  /** frames whose FCS is right; positions are bits from the first one after the tag */
  readonly frames: readonly HdlcSegment[]
  /** octets of data and check that were wrong */
  readonly correctedOctets: number
}

export interface OctetChange {
  readonly at: number
  /** bits that change */
  readonly bits: number
}

/** One way in which a block may have been read wrongly. */
export interface Slip {
  /** how much less likely, natural logarithm */
  readonly cost: number
  readonly changes: readonly OctetChange[]
}

/**
 * Slips that are tried, alone and together; so many words are tried at most: a block that cannot be read must not hold up the
 * audio behind it.
 */
const slipsTried = 6
const wordsTriedMax = 24

/**
 * What a block holds: as it was read; with the least certain octets left out (generalised minimum distance: G. D. Forney,
 * IEEE Trans. Inform. Theory 12, 1966); with the likeliest slips undone as well (D. Chase, IEEE Trans. Inform. Theory 18, 1972;
 * both from memory). What was guessed must make sense: each guess is a chance for a wrong frame.
 * @param octets data and check octets as received
 * @param slips the likeliest first
 * @returns undefined when it is beyond correction or holds no frame with a right FCS
 */
export function decodeFx25(
  of: Fx25Code,
  octets: Uint8Array,
  slips: readonly Slip[] = [],
  makesSense: (frame: Uint8Array) => boolean = () => true,
): Fx25Block | undefined {
  const doubtful = octetsInDoubt(slips)
  const sets = slipSets(slips.slice(0, slipsTried)).slice(0, wordsTriedMax)
  for (const changes of sets) {
    const read = octets.slice()
    for (const { at, bits } of changes) read[at]! ^= bits
    const filled = withKnownFilling(read, of.dataOctetCount)
    // With slips undone only what is likeliest is tried.
    const most = changes.length === 0 ? 2 : 1
    for (const word of [...(filled === undefined ? [] : [filled]), read].slice(0, most))
      for (const zeros of zerosPlaces(of).slice(0, most))
        for (const leftOut of erasureCounts(of, doubtful.length)) {
          const corrected = correctWord(of, word, zeros, doubtful.slice(0, leftOut))
          if (corrected === undefined) continue
          const isGuess = leftOut > 0 || changes.length > 0
          const frames = framesIn(corrected.subarray(0, of.dataOctetCount)).filter(
            ({ octetsWithFcs }) => !isGuess || makesSense(octetsWithFcs.subarray(0, -2)),
          )
          if (frames.length > 0) return { frames, correctedOctets: differences(octets, corrected) }
        }
  }
  return undefined
}

/** Octets that slips change, the least certain first. */
function octetsInDoubt(slips: readonly Slip[]): number[] {
  const places = new Set<number>()
  for (const { changes } of slips) for (const { at } of changes) places.add(at)
  return [...places]
}

/** None, then sets of them that touch no octet twice, the likeliest first. */
function slipSets(slips: readonly Slip[]): readonly (readonly OctetChange[])[] {
  const sets: { cost: number; changes: OctetChange[] }[] = [{ cost: 0, changes: [] }]
  for (const { cost, changes } of slips)
    for (const set of [...sets]) {
      if (set.changes.some(({ at }) => changes.some((change) => change.at === at))) continue
      sets.push({ cost: set.cost + cost, changes: [...set.changes, ...changes] })
    }
  return sets.sort((a, b) => a.cost - b.cost).map(({ changes }) => changes)
}

/** Octets of data bits, least significant bit first. */
export function octetsOf(bits: Uint8Array): Uint8Array {
  const octets = new Uint8Array(bits.length >> 3)
  for (let at = 0; at < 8 * octets.length; at++) octets[at >> 3]! |= bits[at]! << (at & 7)
  return octets
}

const codes = new Map<number, ReedSolomonCode>()

function solomon({ checkOctetCount }: Fx25Code): ReedSolomonCode {
  const known = codes.get(checkOctetCount) ?? createReedSolomon(checkOctetCount, 1)
  codes.set(checkOctetCount, known)
  return known
}

const isShortened = (of: Fx25Code): boolean => of.dataOctetCount + of.checkOctetCount < 255

const zerosPlaces = (of: Fx25Code): readonly ZerosPlace[] =>
  isShortened(of) ? ['behind', 'before'] : ['before']

function withZeros(of: Fx25Code, data: Uint8Array): Uint8Array {
  const whole = new Uint8Array(255 - of.checkOctetCount)
  whole.set(data)
  return whole
}

/** None, then more and more of the doubtful ones, in eight steps; as many as four octets of redundancy are left to tell right from wrong. */
function* erasureCounts(of: Fx25Code, doubtfulCount: number): Generator<number> {
  const most = Math.min(doubtfulCount, of.checkOctetCount - 4)
  for (let count = 0; count <= most; count += of.checkOctetCount / 8) yield count
}

function correctWord(
  of: Fx25Code,
  word: Uint8Array,
  zeros: ZerosPlace,
  erasures: readonly number[],
): Uint8Array | undefined {
  const { dataOctetCount } = of
  if (zeros === 'before') return solomon(of).correct(word, erasures)
  const gap = 255 - word.length
  const whole = new Uint8Array(255)
  whole.set(word.subarray(0, dataOctetCount))
  whole.set(word.subarray(dataOctetCount), dataOctetCount + gap)
  const places = erasures.map((place) => (place < dataOctetCount ? place : place + gap))
  const corrected = solomon(of).correct(whole, places)
  // An error in what was never sent: some other word was found.
  if (corrected?.subarray(dataOctetCount, dataOctetCount + gap).some((octet) => octet !== 0))
    return undefined
  if (corrected === undefined) return undefined
  const result = word.slice()
  result.set(corrected.subarray(0, dataOctetCount))
  result.set(corrected.subarray(dataOctetCount + gap), dataOctetCount)
  return result
}

/** Octets of filling that must agree more than others disagree before the filling is taken for known. */
const fillingMin = 4

/**
 * The filling is flags: however noisy, it needs no check octets once it is clear where it begins. Inserted zeros shift it by
 * bits, so each of the eight rotations is tried. Frames hold no six ones in a row, so they hold none of these octets.
 * @returns undefined when there is none
 */
function withKnownFilling(octets: Uint8Array, dataOctetCount: number): Uint8Array | undefined {
  let bestScore = fillingMin - 1
  let bestStart = dataOctetCount
  let bestValue = 0
  for (let turn = 0; turn < 8; turn++) {
    const value = ((0x7e << turn) | (0x7e >>> (8 - turn))) & 0xff
    let score = 0
    for (let at = dataOctetCount - 1; at > 0; at--) {
      score += octets[at] === value ? 1 : -1
      if (score <= bestScore) continue
      bestScore = score
      bestStart = at
      bestValue = value
    }
  }
  if (bestStart === dataOctetCount) return undefined
  return octets.slice().fill(bestValue, bestStart, dataOctetCount)
}

function framesIn(data: Uint8Array): HdlcSegment[] {
  const frames: HdlcSegment[] = []
  const decoder = createHdlcDecoder({}, (segment) => frames.push(segment))
  data.forEach((octet, index) => {
    for (let bit = 0; bit < 8; bit++) decoder.push((octet >>> bit) & 1, 8 * index + bit + 1)
  })
  return frames
}

function differences(before: Uint8Array, after: Uint8Array): number {
  let count = 0
  for (let at = 0; at < after.length; at++) if (before[at] !== after[at]) count++
  return count
}
