// IL2P (draft 0.6, 2024): an AX.25 frame whose header is made shorter, in blocks with Reed-Solomon check octets, behind a sync
// word of 24 bits. Nothing is inserted and nothing NRZI: 1 is the mark tone. Octets go most significant bit first.
//
//   alternating preamble | F1 5E 48 | header, 13 + 2 check octets | payload blocks, each + 16 check octets | CRC, 4 octets
//
// Values: test/published/fec.json, which says what is published and what from memory. A frame that the short header would not
// bring back octet for octet goes out whole, as payload (type 0).
import { computeFcs } from '../framing/fcs.js'
import { joined } from '../framing/joined.js'
import { headerOf, type Il2pHeader, readHeader } from './il2pHeader.js'
import { createReedSolomon, type ReedSolomonCode } from './reedSolomon.js'

export const il2pSyncWord = [0xf1, 0x5e, 0x48] as const
/** Header and its check octets. */
export const il2pHeaderOctets = 15
const headerDataOctets = 13
const blockCheckOctets = 16
const blockDataOctetsMax = 239
export const il2pCrcOctets = 4
const il2pPayloadOctetsMax = 1023

const headerCode = createReedSolomon(2, 0)
const blockCode = createReedSolomon(blockCheckOctets, 0)

/**
 * Header, blocks and CRC of a frame; the sync word is not among them.
 * @param frame without FCS
 * @returns undefined for a frame that is too long
 */
export function encodeIl2p(frame: Uint8Array): Uint8Array | undefined {
  const { header, payload } = headerOf(frame)
  if (payload.length > il2pPayloadOctetsMax) return undefined
  const scrambledHeader = scramble(header)
  const parts = [scrambledHeader, headerCode.check(scrambledHeader)]
  let at = 0
  for (const size of blockSizes(payload.length)) {
    const block = scramble(payload.subarray(at, at + size))
    parts.push(block, blockCode.check(block))
    at += size
  }
  parts.push(crcCode(computeFcs(frame)))
  return joined(parts)
}

/** Octets of such a frame, without making them all. */
export function il2pOctetCount(frame: Uint8Array): number | undefined {
  const { payload } = headerOf(frame)
  if (payload.length > il2pPayloadOctetsMax) return undefined
  return il2pHeaderOctets + bodyOctets(payload.length) + il2pCrcOctets
}

export interface Il2pStart {
  readonly header: Il2pHeader
  /** octets after the header: blocks and, if there is one, the CRC */
  readonly bodyOctetCount: number
  readonly crcOctetCount: number
  readonly correctedOctets: number
}

/**
 * @param octets the first 15 after the sync word
 * @param certainty of each of them: the least certain one is left out where they are no header as they are
 * @returns undefined where they are no header
 */
export function decodeIl2pHeader(
  octets: Uint8Array,
  certainty?: Float64Array,
): Il2pStart | undefined {
  const corrected = correctBlock(headerCode, octets, certainty, 1)?.octets
  if (corrected === undefined) return undefined
  const header = readHeader(unscramble(corrected.subarray(0, headerDataOctets)))
  if (header === undefined) return undefined
  return {
    header,
    bodyOctetCount: bodyOctets(header.payloadOctetCount),
    crcOctetCount: il2pCrcOctets,
    correctedOctets: differences(octets, corrected),
  }
}

export interface Il2pFrame {
  /** without FCS */
  readonly octets: Uint8Array
  readonly correctedOctets: number
  /** 'right' or 'wrong' where one may follow: a sender without it leaves noise in its place */
  readonly crc: 'right' | 'wrong'
  readonly blockCount: number
  /** octets that were not used because they were uncertain */
  readonly leftOut: number
}

/**
 * @param body what followed the header: blocks, then the octets where a CRC may stand
 * @param certainty of each octet of it: the least certain ones of a block are left out where that is beyond correction
 * @returns undefined when a block is beyond correction
 */
export function decodeIl2pBody(
  start: Il2pStart,
  body: Uint8Array,
  certainty?: Float64Array,
): Il2pFrame | undefined {
  const { header } = start
  const payload = new Uint8Array(header.payloadOctetCount)
  let { correctedOctets } = start
  let from = 0
  let at = 0
  let leftOut = 0
  const sizes = blockSizes(payload.length)
  for (const size of sizes) {
    const heard = body.subarray(from, from + size + blockCheckOctets)
    const certain = certainty?.subarray(from, from + heard.length)
    const block = correctBlock(blockCode, heard, certain, leftOutMax)
    if (block === undefined) return undefined
    leftOut += block.leftOut
    correctedOctets += differences(heard, block.octets)
    payload.set(unscramble(block.octets.subarray(0, size)), at)
    from += heard.length
    at += size
  }
  const octets = header.frameOf(payload)
  const crc = readCrc(body.subarray(from, from + il2pCrcOctets))
  const isRight = crc === computeFcs(octets)
  const blockCount = sizes.length
  return { octets, correctedOctets, crc: isRight ? 'right' : 'wrong', blockCount, leftOut }
}

/** As many check octets as this stay to tell right from wrong: four. */
const leftOutMax = blockCheckOctets - 4

function correctBlock(
  code: ReedSolomonCode,
  heard: Uint8Array,
  certainty: Float64Array | undefined,
  most: number,
): { octets: Uint8Array; leftOut: number } | undefined {
  const order =
    certainty && Array.from(certainty.keys()).sort((a, b) => certainty[a]! - certainty[b]!)
  for (let leftOut = 0; leftOut <= (order === undefined ? 0 : most); leftOut += most > 1 ? 2 : 1) {
    const octets = code.correct(heard, order?.slice(0, leftOut))
    if (octets !== undefined) return { octets, leftOut }
  }
  return undefined
}

/** As even as they can be, the larger ones first. */
function blockSizes(octetCount: number): number[] {
  const count = Math.ceil(octetCount / blockDataOctetsMax)
  if (count === 0) return []
  const small = Math.floor(octetCount / count)
  const larger = octetCount - small * count
  return Array.from({ length: count }, (_, index) => small + (index < larger ? 1 : 0))
}

const bodyOctets = (payloadOctets: number): number =>
  payloadOctets + blockCheckOctets * Math.ceil(payloadOctets / blockDataOctetsMax)

/** Shift register of x^9 + x^4 + 1 at the start of the header and of each block (from memory; the published examples agree). */
const registerStart = 0x1f0

/** Each bit sent goes back into the register; check octets are not scrambled. */
const scramble = (octets: Uint8Array): Uint8Array => scrambled(octets, true)
const unscramble = (octets: Uint8Array): Uint8Array => scrambled(octets, false)

function scrambled(octets: Uint8Array, isSending: boolean): Uint8Array {
  let register = registerStart
  return octets.map((octet) => {
    let result = 0
    for (let shift = 7; shift >= 0; shift--) {
      const bit = (octet >> shift) & 1
      const out = bit ^ (register & 1)
      const onAir = isSending ? out : bit
      register = (register >> 1) ^ (onAir === 1 ? 0x108 : 0)
      result |= out << shift
    }
    return result
  })
}

/** One octet of this table for each half octet; two such differ in three bits at least. */
const hamming = [
  0x00, 0x71, 0x62, 0x13, 0x54, 0x25, 0x36, 0x47, 0x38, 0x49, 0x5a, 0x2b, 0x6c, 0x1d, 0x0e, 0x7f,
] as const

const crcCode = (crc: number): Uint8Array =>
  Uint8Array.of(...[12, 8, 4, 0].map((shift) => hamming[(crc >>> shift) & 15]!))

/** The half octet whose code is nearest. */
function readCrc(octets: Uint8Array): number {
  let crc = 0
  for (const octet of octets) {
    const distances = hamming.map((code) => countOnes((octet & 0x7f) ^ code))
    crc = (crc << 4) | distances.indexOf(Math.min(...distances))
  }
  return crc
}

function countOnes(octet: number): number {
  let count = 0
  for (let bit = 0; bit < 8; bit++) count += (octet >> bit) & 1
  return count
}

function differences(before: Uint8Array, after: Uint8Array): number {
  let count = 0
  for (let at = 0; at < after.length; at++) if (before[at] !== after[at]) count++
  return count
}
