// IL2P in the stream of decided tones: sync word, header, blocks. No NRZI: a tone is a bit. Each part is decoded from the
// first pass's tones, else from those of the second pass, with the least certain octets left out.
import {
  decodeIl2pBody,
  decodeIl2pHeader,
  type Il2pFrame,
  type Il2pStart,
  il2pHeaderOctets,
  il2pSyncWord,
} from '../../fec/il2p.js'
import type { CandidateFrame, DetectorSink } from '../detector.js'
import { isPlausibleRepair } from '../plausible.js'
import type { BlockEstimate } from '../sequence/phaseStep.js'
import {
  type SymbolRun,
  symbolSamples,
  type ToneCorrelations,
} from '../sequence/toneCorrelations.js'
import { createSecondLook, type FirstPass, type SecondLook } from './secondLook.js'

export interface Il2pReader {
  /** Takes the tones of the next block after they stand in the ring. */
  accept(tones: Uint8Array, estimate: BlockEstimate): void
}

export interface Il2pReaderOptions {
  readonly correlations: ToneCorrelations
  readonly run: SymbolRun
  readonly mask: number
  /** decided tones, read at `k & mask` */
  readonly tones: Uint8Array
  readonly sink: DetectorSink
  readonly detector: string
}

/** Sync words that may be followed at once: noise has one each ten minutes. */
const openMax = 2
const syncBits = 24
const syncValue = (il2pSyncWord[0] << 16) | (il2pSyncWord[1] << 8) | il2pSyncWord[2]
/** As the text allows. */
const wrongSyncBitsMax = 1

interface Opening {
  /** behind the sync word */
  readonly firstSymbol: number
  start?: Il2pStart
  /** what must be known for the next step */
  needed: number
}

export function createIl2pReader(options: Il2pReaderOptions): Il2pReader {
  const { sink, detector, run, mask } = options
  const lookAgain = createSecondLook(options.correlations)
  let register = 0
  let count = 0
  let open: Opening[] = []

  const sampleOf = (symbol: number): number => run.startSample[symbol & mask]!

  const push = (tone: number): void => {
    register = ((register << 1) | tone) & 0xffffff
    count++
    if (open.length >= openMax || countOnes(register ^ syncValue) > wrongSyncBitsMax) return
    open.push({ firstSymbol: count, needed: count + 8 * il2pHeaderOctets })
  }

  /** First as decided, then looked at again. */
  const decode = <T>(
    from: number,
    opening: Opening,
    guess: FirstPass,
    read: (octets: Uint8Array, certainty: Float64Array | undefined) => T | undefined,
  ): T | undefined => {
    const octetCount = (opening.needed - from) >> 3
    const asDecided = read(
      octetsAt(octetCount, (bit) => guess.tones[(from + bit) & mask]!),
      undefined,
    )
    if (asDecided !== undefined) return asDecided
    const first = Math.max(1, opening.firstSymbol - syncBits)
    const look = lookAgain(first, opening.needed, guess)
    if (look === undefined) return undefined
    const offset = from - first + 1
    return read(
      octetsAt(octetCount, (bit) => look.tones[offset + bit]!),
      certaintyOf(look, offset, octetCount),
    )
  }

  const readHeader = (opening: Opening, guess: FirstPass): boolean => {
    const start = decode(opening.firstSymbol, opening, guess, decodeIl2pHeader)
    if (start === undefined) return false
    opening.start = start
    opening.needed += 8 * (start.bodyOctetCount + start.crcOctetCount)
    sink.expect?.({
      startSample: sampleOf(opening.firstSymbol - syncBits),
      endSample:
        sampleOf(opening.firstSymbol) + (opening.needed - opening.firstSymbol) * symbolSamples,
    })
    return true
  }

  const readBody = (opening: Opening, guess: FirstPass): void => {
    const start = opening.start!
    const from = opening.firstSymbol + 8 * il2pHeaderOctets
    const frame = decode(from, opening, guess, (octets, certainty) => {
      const body = decodeIl2pBody(start, octets, certainty)
      return body !== undefined && isBelievable(body, start) ? body : undefined
    })
    if (frame === undefined) return
    sink.frame(candidate(opening, frame, guess, detector))
  }

  return {
    accept(tones, { markStep, spaceStep }) {
      for (const tone of tones) push(tone)
      if (open.length === 0) return
      const guess = { run, mask, tones: options.tones, markStep, spaceStep, count }
      open = open.filter((opening) => {
        if (opening.start === undefined) {
          if (count < opening.needed) return true
          if (!readHeader(opening, guess)) return false
        }
        if (count < opening.needed) return true
        readBody(opening, guess)
        return false
      })
    },
  }
}

function candidate(
  { firstSymbol, needed, start }: Opening,
  { octets, crc, correctedOctets }: Il2pFrame,
  { run, mask, tones }: FirstPass,
  detector: string,
): CandidateFrame {
  const first = firstSymbol - syncBits
  const end = crc === 'right' ? needed : needed - 8 * start!.crcOctetCount
  return {
    octets,
    startSample: run.startSample[first & mask]!,
    endSample: run.startSample[(end - 1) & mask]! + symbolSamples,
    precedingFlags: 0,
    repairedBits: 0,
    detector,
    code: { kind: 'IL2P', correctedOctets },
    levels: Uint8Array.from({ length: end - first }, (_, at) => tones[(first + at) & mask]!),
  }
}

/**
 * Without a right CRC, as of a sender that has none, only what needed no guesses and makes sense is taken. Nor may its header
 * have been corrected: of those with two wrong octets its two check octets make another one in 6 % (computed), with other call
 * signs, and a body one octet longer or shorter still fits.
 */
const isBelievable = (
  { crc, octets, leftOut, blockCount }: Il2pFrame,
  { correctedOctets }: Il2pStart,
): boolean =>
  crc === 'right' ||
  (correctedOctets === 0 && leftOut === 0 && blockCount > 0 && isPlausibleRepair(octets))

/** Most significant bit first. */
function octetsAt(octetCount: number, bitAt: (bit: number) => number): Uint8Array {
  const octets = new Uint8Array(octetCount)
  for (let bit = 0; bit < 8 * octetCount; bit++)
    octets[bit >> 3] = (octets[bit >> 3]! << 1) | bitAt(bit)
  return octets
}

/** What it would cost that one of an octet's tones is the other one. */
function certaintyOf({ departures }: SecondLook, offset: number, octetCount: number): Float64Array {
  const certainty = new Float64Array(octetCount).fill(Number.POSITIVE_INFINITY)
  for (const { cost, symbols } of departures)
    for (const symbol of symbols) {
      const octet = (symbol - offset) >> 3
      if (octet >= 0 && octet < octetCount) certainty[octet] = Math.min(certainty[octet]!, cost)
    }
  return certainty
}

function countOnes(word: number): number {
  let count = 0
  for (let rest = word; rest !== 0; rest &= rest - 1) count++
  return count
}
