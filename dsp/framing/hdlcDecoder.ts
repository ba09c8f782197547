import { advanceFcs, fcsPreset, fcsResidue } from './fcs.js'

/** What stood between two flags, when it had a plausible length. */
export interface HdlcSegment {
  /** FCS included; a copy, the receiver's to keep */
  readonly octetsWithFcs: Uint8Array
  readonly fcsRight: boolean
  /** position where the opening flag began */
  readonly start: number
  /** position where the closing flag ended */
  readonly end: number
  /** flags directly before the segment, the opening flag included */
  readonly precedingFlags: number
}

/** What did not become a segment, by reason; each only grows. */
export interface HdlcCounters {
  /** flags, also those of fill and of noise */
  flags: number
  /** segments with a right FCS */
  rightFcs: number
  /** segments of plausible length with a wrong FCS */
  wrongFcs: number
  /** seven or more 1 bits in a row (ISO 3309) while something was being collected */
  aborted: number
  /** fewer octets than the shortest frame */
  tooShort: number
  /** more octets than allowed */
  tooLong: number
  /** not a whole number of octets, though long enough */
  unaligned: number
}

export interface HdlcDecoderOptions {
  /** FCS included; AX.25 2.2 section 3.9 gives 136 bits */
  readonly octetCountMin?: number
  /** FCS included */
  readonly octetCountMax?: number
  /** segments with a wrong FCS are handed out too */
  readonly wrongFcsToo?: boolean
  /** how far one bit is from the next in the caller's unit, 1 unless given */
  readonly positionsPerBit?: number
}

export interface HdlcDecoder {
  /**
   * Takes one data bit (after NRZI).
   * @param bit 0 or 1
   * @param position where the bit ended, in whatever unit the caller counts
   */
  push(bit: number, position: number): void
  /** Forgets what was being collected, not the counters. */
  reset(): void
  readonly counters: Readonly<HdlcCounters>
}

/** 14 address octets, one of control, two of FCS. */
const shortestFrameOctets = 17
/** Enough for every information field in use (256 octets unless negotiated) and small enough to bound memory. */
const longestFrameOctets = 2048

/**
 * Finds flags and takes out inserted zeros, bit by bit.
 * @param onSegment called within push, for each segment that ends
 * @see AX.25 2.2 sections 3.1, 3.6, 3.9, 3.10
 */
export function createHdlcDecoder(
  options: HdlcDecoderOptions,
  onSegment: (segment: HdlcSegment) => void,
): HdlcDecoder {
  const octetCountMin = options.octetCountMin ?? shortestFrameOctets
  const octetCountMax = options.octetCountMax ?? longestFrameOctets
  const counters = zeroCounters()
  const content = createCollector(octetCountMax)
  const flagLength = 8 * (options.positionsPerBit ?? 1)
  let collecting = false
  let ones = 0
  let openingFlagStart = 0
  let precedingFlags = 0

  const collect = (bit: number): void => {
    if (content.add(bit)) return
    collecting = false
    counters.tooLong++
  }

  /** @returns false when there was nothing between the two flags */
  const close = (end: number): boolean => {
    const dataBits = content.bitCount - flagBitsCollected
    // Two flags that share their 0 bit give -1.
    if (dataBits <= 0) return false
    const octetCount = dataBits >>> 3
    if (octetCount < octetCountMin) counters.tooShort++
    else if ((dataBits & 7) !== 0) counters.unaligned++
    else {
      const { fcsRight } = content
      if (fcsRight) counters.rightFcs++
      else counters.wrongFcs++
      if (fcsRight || options.wrongFcsToo === true)
        onSegment({
          octetsWithFcs: content.octets.slice(0, octetCount),
          fcsRight,
          start: openingFlagStart,
          end,
          precedingFlags,
        })
    }
    return true
  }

  const takeFlag = (end: number): void => {
    counters.flags++
    const hadContent = !collecting || close(end)
    precedingFlags = hadContent ? 1 : precedingFlags + 1
    openingFlagStart = end - flagLength
    collecting = true
    content.clear()
  }

  return {
    push(bit, position) {
      if (bit === 1) {
        ones++
        if (ones <= 5) {
          if (collecting) collect(1)
        } else if (ones === 7 && collecting) {
          collecting = false
          if (content.bitCount > flagBitsCollected) counters.aborted++
        }
      } else {
        if (ones === 6) takeFlag(position)
        else if (collecting && ones !== 5) collect(0)
        ones = 0
      }
    },
    reset() {
      collecting = false
      ones = 0
    },
    counters,
  }
}

/** A flag's own 0 and first five 1s are collected before it shows itself. */
const flagBitsCollected = 6

interface Collector {
  /** whole octets so far, in a buffer that is used again */
  readonly octets: Uint8Array
  readonly bitCount: number
  /** over the whole octets so far */
  readonly fcsRight: boolean
  /** @returns false when that was more than the buffer holds */
  add(bit: number): boolean
  clear(): void
}

function createCollector(octetCountMax: number): Collector {
  const octets = new Uint8Array(octetCountMax)
  let bitCount = 0
  let partialOctet = 0
  let register = fcsPreset
  return {
    octets,
    get bitCount() {
      return bitCount
    },
    get fcsRight() {
      return register === fcsResidue
    },
    add(bit) {
      partialOctet |= bit << (bitCount & 7)
      bitCount++
      if ((bitCount & 7) !== 0) return true
      const octetCount = bitCount >>> 3
      if (octetCount > octetCountMax) return false
      octets[octetCount - 1] = partialOctet
      register = advanceFcs(register, partialOctet)
      partialOctet = 0
      return true
    },
    clear() {
      bitCount = 0
      partialOctet = 0
      register = fcsPreset
    },
  }
}

function zeroCounters(): HdlcCounters {
  return { flags: 0, rightFcs: 0, wrongFcs: 0, aborted: 0, tooShort: 0, tooLong: 0, unaligned: 0 }
}
