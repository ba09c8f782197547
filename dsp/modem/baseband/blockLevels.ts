// Height and offset of the bits, block by block: the means of what lies above and below a middle, which is then that of the two
// means; where all lies on one side, the mean of all. A carrier that is off its channel shows as an offset.
import { type BitStream, bitMask, blockBits, noiseCoherence } from './bits.js'

/** Blocks before and after one that it is estimated from, besides itself. */
const blocksBehind = 3
const blocksAhead = 4
/** Blocks with less of the coherence than that share do not count: the hiss before a transmission. */
const sureShare = 0.7
const rounds = 3

export interface BlockLevels {
  /** what a bit of 1 gives behind the filter over what a 0 gives, halved, and their middle */
  height: number
  offset: number
  /** how much of a signal there is in the 27 ms around it, and in the block itself: see bandEdge.ts */
  coherence: number
  presence: number
}

/** How many blocks of a stream have what follows them, too. */
export const blocksWithLevels = ({ count }: BitStream): number =>
  Math.max(0, Math.floor(count / blockBits) - blocksAhead)

/** @param into height and offset are left as they are where there is only noise */
export function estimateLevels(stream: BitStream, block: number, into: BlockLevels): void {
  const middle = (block * blockBits + blockBits / 2) & bitMask
  into.coherence = stream.coherence[middle]!
  into.presence = stream.presence[middle]!
  if (into.coherence < noiseCoherence) return
  into.offset = 0
  for (let round = 0; round < rounds; round++) takeMeans(stream, block, into)
}

function takeMeans({ value, coherence, count }: BitStream, block: number, into: BlockLevels): void {
  const from = Math.max(0, block - blocksBehind)
  const to = Math.floor(Math.min(count, (block + 1 + blocksAhead) * blockBits) / blockBits)
  const floor = sureShare * into.coherence
  const middle = into.offset
  let above = 0
  let sum = 0
  let aboveCount = 0
  let total = 0
  for (let near = from; near < to; near++) {
    const first = (near * blockBits) & bitMask
    if (coherence[first + blockBits / 2]! < floor) continue
    for (let at = first; at < first + blockBits; at++) {
      const x = value[at]!
      sum += x
      if (x > middle) {
        above += x
        aboveCount++
      }
    }
    total += blockBits
  }
  const isOneSided = aboveCount === 0 || aboveCount === total
  const high = isOneSided ? sum / total : above / aboveCount
  const low = isOneSided ? high : (sum - above) / (total - aboveCount)
  into.offset = (high + low) / 2
  into.height = (high - low) / 2
}
