// The frames in a block with check octets: out of the tones as the first pass decided them, else out of those that the second
// pass decides, whose least certain octets are then left out one by one (generalised minimum distance: G. D. Forney,
// IEEE Trans. Inform. Theory 12, 1966; from memory). Certainty is what it would cost the decision to leave the best path.
import { decodeFx25, type Fx25Block, fx25TagBits, octetsOf } from '../../fec/fx25.js'
import { createDecisionRecord, departureCosts, runTrellis } from '../secondPass/decision.js'
import { type FirstGuess, fitBurst } from '../secondPass/fit.js'
import { burstSymbolsMax, createBurst } from '../secondPass/model.js'
import type { BlockGuess } from '../sequence/search.js'
import type { ToneCorrelations } from '../sequence/toneCorrelations.js'
import type { CodedBlock } from './codedBlocks.js'

/** Symbols before the tag and after the block that help to fit. */
const leadSymbols = 24
const trailSymbols = 8

type FirstPass = BlockGuess & Pick<FirstGuess, 'run' | 'mask' | 'tones'>

export interface BlockDecoder {
  decode(block: CodedBlock, guess: FirstPass): Fx25Block | undefined
}

export function createBlockDecoder(correlations: ToneCorrelations): BlockDecoder {
  const memory = { burst: createBurst(), record: createDecisionRecord() }
  const costs = new Float64Array(burstSymbolsMax)

  const decideAgain = (block: CodedBlock, guess: FirstPass): Fx25Block | undefined => {
    const { burst, record } = memory
    const firstSymbol = Math.max(0, block.firstSymbol - fx25TagBits - leadSymbols)
    const endSymbol = Math.min(guess.count, block.endSymbol + trailSymbols)
    const place = { firstSymbol, symbolCount: endSymbol - firstSymbol, startsWithSignal: false }
    if (!fitBurst(burst, record, correlations, { ...guess, ...place })) return undefined
    runTrellis(burst, record)
    departureCosts(burst, record, burst.tones, costs)
    const from = block.firstSymbol - firstSymbol
    const bits = new Uint8Array(block.endSymbol - block.firstSymbol)
    const certainty = new Float64Array(bits.length >> 3).fill(Number.POSITIVE_INFINITY)
    for (let bit = 0; bit < bits.length; bit++) {
      const k = from + bit
      bits[bit] = burst.tones[k] === burst.tones[k - 1] ? 1 : 0
      // A path that leaves at one symbol most often swaps it with the one before: the bits on both sides of the swap change.
      const octet = bit >> 3
      const cost = Math.min(costs[k + 1] ?? Number.POSITIVE_INFINITY, costs[k - 1]!)
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
