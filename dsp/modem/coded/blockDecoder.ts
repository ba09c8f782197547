// The frames in a block with check octets: out of the tones as the first pass decided them, else out of those that the second
// pass decides, with what it knows of where it may be wrong.
import {
  decodeFx25,
  type Fx25Block,
  fx25TagBits,
  type OctetChange,
  octetsOf,
} from '../../fec/fx25.js'
import { isPlausibleRepair } from '../plausible.js'
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
    const bitCount = block.endSymbol - block.firstSymbol
    const bits = new Uint8Array(bitCount)
    for (let bit = 0; bit < bitCount; bit++)
      bits[bit] = look.tones[from + bit] === look.tones[from + bit - 1] ? 1 : 0
    const slips = look.departures
      .map(({ cost, symbols }) => ({ cost, changes: changesOf(symbols, from, bitCount) }))
      .filter(({ changes }) => changes.length > 0)
    return decodeFx25(block.code, octetsOf(bits), slips, isPlausibleRepair)
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

/** What other tones change in the octets: after NRZI a bit at the tone, and one behind it. */
function changesOf(symbols: readonly number[], from: number, bitCount: number): OctetChange[] {
  const octets = new Map<number, number>()
  for (const symbol of symbols)
    for (const bit of [symbol - from, symbol - from + 1])
      if (bit >= 0 && bit < bitCount)
        octets.set(bit >> 3, (octets.get(bit >> 3) ?? 0) ^ (1 << (bit & 7)))
  return [...octets].filter(([, bits]) => bits !== 0).map(([at, bits]) => ({ at, bits }))
}
