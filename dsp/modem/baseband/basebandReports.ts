// What is found at 9600 bit/s, as it is handed out: places in samples of the input, and quality.
import type { HdlcSegment } from '../../framing/hdlcDecoder.js'
import type { ClippingLog } from '../frontEnd/clippingLog.js'
import { isPlausibleFrame } from '../plausible.js'
import type { DamagedFrame, ReceivedFrame, ReceiverCounters } from '../receivedFrame.js'
import { bitSamples } from './bandEdge.js'
import { measureBaseband } from './basebandQuality.js'
import { type BitStream, bitMask } from './bits.js'

const detector = 'baseband'

/** Bits at most that a frame is measured by. */
const measuredBitsMax = 2000
const damagedMax = 32

export interface FoundBits {
  /** places count bits from firstBit on */
  readonly segment: HdlcSegment
  readonly firstBit: number
  /** decided level of a bit of the stream */
  readonly bitAt: (bit: number) => number
  readonly repairedBits: number
  readonly code?: ReceivedFrame['code']
}

export interface BasebandReports {
  frame(found: FoundBits): void
  /** A segment that looked like a frame is beyond repair. */
  damaged(firstBit: number, endBit: number, bitAt: FoundBits['bitAt']): void
  take(): ReceivedFrame[]
  takeDamaged(): DamagedFrame[]
  readonly counters: Readonly<ReceiverCounters>
}

/** @param inputPerWorking samples of the input in one at 48 kHz */
export function createBasebandReports(
  stream: BitStream,
  clipping: ClippingLog,
  inputPerWorking: number,
): BasebandReports {
  const counters: ReceiverCounters = { frames: 0, repaired: 0, fcsRejected: 0, implausible: 0 }
  let ready: ReceivedFrame[] = []
  let damaged: DamagedFrame[] = []
  /** end of the latest frame handed out, in bits of the stream */
  let lastEnd = -1
  /** and of the latest damaged segment */
  let lastDamagedEnd = 0

  /** @param end a later bit, whose place is still known: what lies too far before it is reckoned from there */
  const inputAt = (bit: number, end: number): number => {
    const known = Math.max(bit, end - measuredBitsMax)
    const position = stream.position[known & bitMask]! - (known - bit) * bitSamples
    return Math.max(0, Math.round(position * inputPerWorking))
  }

  /** Of what is longer than can be kept, its end. */
  const measure = (start: number, end: number, bitAt: FoundBits['bitAt']) => {
    const from = Math.max(start, end - measuredBitsMax)
    return measureBaseband(
      stream,
      from,
      Uint8Array.from({ length: end - from }, (_, at) => bitAt(from + at)),
    )
  }

  return {
    frame({ segment, firstBit, bitAt, repairedBits, code }) {
      const octets = segment.octetsWithFcs.slice(0, -2)
      if (!isPlausibleFrame(octets)) {
        counters.implausible++
        return
      }
      const [start, end] = [firstBit + segment.start, firstBit + segment.end]
      // A block of FX.25 and the frame in it, or a segment that was gone over again, may both give it.
      if (end <= lastEnd) return
      lastEnd = end
      counters.frames++
      if (repairedBits > 0) counters.repaired++
      const [firstSample, lastSample] = [inputAt(start, end), inputAt(end, end)]
      const quality = {
        ...measure(start, end, bitAt),
        clippedShare: clipping.share(firstSample, lastSample),
        preambleFlags: segment.precedingFlags,
        bitRate: 9600,
      } as const
      ready.push({
        ...{ octets, firstSample, lastSample, detector, repairedBits, code },
        quality,
      })
    },
    damaged(firstBit, endBit, bitAt) {
      // The search tries segments with a flag in them, too, after those on both sides of it.
      if (firstBit < lastDamagedEnd) return
      lastDamagedEnd = endBit
      counters.fcsRejected++
      const { levelDbfs, toneBalanceDb } = measure(firstBit, endBit, bitAt)
      const firstSample = inputAt(firstBit, endBit)
      const lastSample = inputAt(endBit, endBit)
      const one = { firstSample, lastSample, at9600: { levelDbfs, toneBalanceDb } }
      damaged = [...damaged.slice(1 - damagedMax), one]
    },
    take() {
      const frames = ready
      ready = []
      return frames
    },
    takeDamaged() {
      const latest = damaged
      damaged = []
      return latest
    },
    counters,
  }
}
