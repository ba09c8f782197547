// The frames in a block with check octets: out of the tones as the first pass decided them, else out of those that the second
// pass decides, whose least certain octets are then left out one by one (generalised minimum distance: G. D. Forney,
// IEEE Trans. Inform. Theory 12, 1966; from memory).
import { decodeFx25, type Fx25Block, fx25TagBits, octetsOf } from '../../fec/fx25.js'
import type { ToneCorrelations } from '../sequence/toneCorrelations.js'
import type { CodedBlock } from './codedBlocks.js'
import { createSecondLook, type FirstPass } from './secondLook.js'

export interface BlockDecoder {
  decode(block: CodedBlock, guess: FirstPass): Fx25Block | undefined
}

export function createBlockDecoder(correlations: ToneCorrelations): BlockDecoder {
  const lookAgain = createSecondLook(correlations)

  const decideAgain = (block: CodedBlock, guess: FirstPass): Fx25Block | undefined => {
    const tagSymbol = Math.max(1, block.firstSymbol - fx25TagBits)
    const look = lookAgain(tagSymbol, block.endSymbol, guess)
    if (look === undefined) return undefined
    const from = block.firstSymbol - tagSymbol + 1
    const bits = new Uint8Array(block.endSymbol - block.firstSymbol)
    const certainty = new Float64Array(bits.length >> 3).fill(Number.POSITIVE_INFINITY)
    for (let bit = 0; bit < bits.length; bit++) {
      const k = from + bit
      bits[bit] = look.tones[k] === look.tones[k - 1] ? 1 : 0
      // A path that leaves at one symbol most often swaps it with the one before: the bits on both sides of the swap change.
      const octet = bit >> 3
      const cost = Math.min(look.costs[k + 1] ?? Number.POSITIVE_INFINITY, look.costs[k - 1]!)
      certainty[octet] = Math.min(certainty[octet]!, cost)
    }
    const doubtful = Array.from(certainty.keys()).sort((a, b) => certainty[a]! - certainty[b]!)
    return decodeFx25(block.code, octetsOf(bits), doubtful)
  }

  return {
    decode(block, guess) {
      const { tones, mask } = guess
      const bits = new Uint8Array(block.endSymbol - block.firstSymbol)
      for (let bit = 0; bit < bits.length; bit++) {
        const symbol = block.firstSymbol + bit
        bits[bit] = tones[symbol & mask] === tones[(symbol - 1) & mask] ? 1 : 0
      }
      return decodeFx25(block.code, octetsOf(bits)) ?? decideAgain(block, guess)
    },
  }
}
