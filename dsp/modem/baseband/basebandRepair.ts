// Frames out of a damaged segment: fitted anew, decided again, and of the runners-up those that give a right FCS.
import { createHdlcDecoder, type HdlcSegment } from '../../framing/hdlcDecoder.js'
import { createDescrambler } from '../../framing/scrambler.js'
import { isPlausibleRepair } from '../plausible.js'
import type { RepairLevel } from '../receivedFrame.js'
import { bitSamples } from './bandEdge.js'
import { type BitStream, bitMask } from './bits.js'
import { type Refinement, reach, refine } from './refine.js'

export interface RepairedBits {
  /** positions count bits from the segment's first */
  readonly segment: HdlcSegment
  /** runs of channel bits that were decided otherwise than the likeliest way */
  readonly repairedBits: number
  /** levels of the whole segment as decided then */
  readonly bits: Uint8Array
}

/** Runners-up that are tried, and how much less likely than the best they may be: natural logarithm. */
const budgets: Readonly<
  Record<RepairLevel, { readonly pathsMax: number; readonly costMax: number }>
> = {
  none: { pathsMax: 0, costMax: 0 },
  careful: { pathsMax: 32, costMax: 14 },
  eager: { pathsMax: 64, costMax: 20 },
}

/** The longest segment that is gone over again, in octets, and some room. */
const octetCountMax = 1000

export function createBasebandRepair(stream: BitStream, levels: Uint8Array, level: RepairLevel) {
  const budget = budgets[level]
  let found: HdlcSegment[] = []
  const decoder = createHdlcDecoder({ octetCountMax }, (segment) => found.push(segment))
  const descrambler = createDescrambler()

  const framesIn = (bits: Uint8Array): HdlcSegment[] => {
    found = []
    decoder.reset()
    descrambler.reset()
    let before = 0
    for (let bit = 0; bit < bits.length; bit++) {
      const plain = descrambler.push(bits[bit]!)
      decoder.push(plain === before ? 1 : 0, bit + 1)
      before = plain
    }
    return found.filter(({ octetsWithFcs }) => isPlausibleRepair(octetsWithFcs.subarray(0, -2)))
  }

  return {
    /**
     * @param endBit exclusive
     * @returns the first path's frames that make sense
     */
    attempt(firstBit: number, endBit: number): RepairedBits[] {
      const guess = new Uint8Array(endBit - firstBit)
      for (let bit = 0; bit < guess.length; bit++) guess[bit] = levels[(firstBit + bit) & bitMask]!
      const refined = refine(halfBits(stream, firstBit, guess.length), guess)
      const best = framesIn(refined.bits)
      if (best.length > 0)
        return best.map((segment) => ({ segment, repairedBits: 0, bits: refined.bits }))
      const path = new Uint8Array(guess.length)
      for (const departAt of candidates(refined, budget)) {
        if (!refined.trace(departAt, path)) continue
        const frames = framesIn(path)
        if (frames.length > 0)
          return frames.map((segment) => ({
            segment,
            repairedBits: departAt.length,
            bits: path.slice(),
          }))
      }
      return []
    },
  }
}

/** Outputs of the matched filter, two to a bit. */
export function halfBits(stream: BitStream, firstBit: number, count: number): Float64Array {
  const filtered = new Float64Array(2 * count + 2 * reach)
  const first = stream.position[firstBit & bitMask]!
  for (let at = 0; at < reach; at++)
    filtered[at] = stream.filtered(first - ((reach - at) * bitSamples) / 2)
  for (let bit = 0; bit < count; bit++) {
    const middle = stream.position[(firstBit + bit) & bitMask]!
    filtered[reach + 2 * bit] = stream.value[(firstBit + bit) & bitMask]!
    filtered[reach + 2 * bit + 1] = stream.filtered(middle + bitSamples / 2)
  }
  const last = stream.position[(firstBit + count - 1) & bitMask]!
  for (let at = 0; at < reach; at++)
    filtered[reach + 2 * count + at] = stream.filtered(last + ((2 + at) * bitSamples) / 2)
  return filtered
}

/** One departure, or two, in order of their costs. */
function candidates(
  { departures }: Refinement,
  { pathsMax, costMax }: { readonly pathsMax: number; readonly costMax: number },
): number[][] {
  const single = departures.slice(0, pathsMax)
  const all = single.map(({ bit, cost }) => ({ cost, bits: [bit] }))
  for (const [at, one] of single.entries())
    for (const other of single.slice(0, at))
      all.push({ cost: one.cost + other.cost, bits: [one.bit, other.bit] })
  return all
    .filter(({ cost }) => cost <= costMax)
    .sort((a, b) => a.cost - b.cost)
    .slice(0, pathsMax)
    .map(({ bits }) => bits)
}
