// From decided levels to frames: descrambler, flags, blocks of FX.25, and a second look at what was damaged.
import { decodeFx25, octetsOf } from '../../fec/fx25.js'
import { createDescrambler, scramblerBits } from '../../framing/scrambler.js'
import type { CodedBlock } from '../coded/codedBlocks.js'
import type { RepairLevel } from '../receivedFrame.js'
import { createSequenceSearch, type SearchLimits, type SymbolSegment } from '../sequence/search.js'
import { createBasebandRepair } from './basebandRepair.js'
import type { BasebandReports } from './basebandReports.js'
import { type BitStream, bitCapacity, bitMask, blockBits } from './bits.js'
import type { BlockLevels } from './blockLevels.js'

/** Coherence of noise is below 0.39 in a minute of it, that of signals of 5 dB Eb/N0 above it but for one window in a hundred. */
const limits: SearchLimits = {
  contentMax: 7000,
  coherenceMin: 0.42,
  sureCoherence: 0.7,
  presenceOn: 0.4,
  presenceOff: 0.28,
}

/** Bits before a segment that the descrambler needs, and a flag. */
const leadBits = scramblerBits + 8

export interface BasebandFrames {
  /**
   * @param bits the levels of the next block, and what was estimated for it; they are descrambled in place
   * @param isNoise nothing was decided
   */
  accept(bits: Uint8Array, levels: BlockLevels, isNoise: boolean): void
}

export function createBasebandFrames(
  stream: BitStream,
  reports: BasebandReports,
  repairLevel: RepairLevel,
): BasebandFrames {
  /** as decided, before the descrambler */
  const levels = new Uint8Array(bitCapacity)
  const repair = createBasebandRepair(stream, levels, repairLevel)
  const descrambler = createDescrambler()
  let count = 0
  const bitAt = (bit: number): number => levels[bit & bitMask]!

  const retry = (found: SymbolSegment): boolean => {
    const { endSymbol, contentFirstSymbol, contentEndSymbol } = found
    const firstBit = Math.max(0, found.firstSymbol - leadBits)
    const frames = repair.attempt(firstBit, endSymbol)
    // What has a flag at one end only, or one that noise made, is often no more than the edge of a signal.
    const isBetweenFlags = !found.startsWithSignal && endSymbol > contentEndSymbol
    const isWithinSignal = [contentFirstSymbol, contentEndSymbol].every(
      (bit) => stream.presence[bit & bitMask]! >= limits.presenceOff,
    )
    for (const { segment, repairedBits, bits } of frames)
      reports.frame({ segment, firstBit, repairedBits, bitAt: (bit) => bits[bit - firstBit]! })
    if (frames.length === 0 && isBetweenFlags && isWithinSignal)
      reports.damaged(contentFirstSymbol, contentEndSymbol, bitAt)
    return frames.length > 0
  }

  const decodeBlock = ({ code, firstSymbol, endSymbol }: CodedBlock): boolean => {
    const bits = new Uint8Array(endSymbol - firstSymbol)
    for (let bit = 0; bit < bits.length; bit++) {
      const at = firstSymbol + bit
      bits[bit] = search.tones[at & bitMask] === search.tones[(at - 1) & bitMask] ? 1 : 0
    }
    const decoded = decodeFx25(code, octetsOf(bits))
    if (decoded === undefined) return false
    const { correctedOctets } = decoded
    for (const segment of decoded.frames)
      reports.frame({
        ...{ segment, firstBit: firstSymbol, bitAt, repairedBits: 0 },
        code: { kind: 'FX.25', correctedOctets },
      })
    return true
  }

  const search = createSequenceSearch(
    {
      frame: (segment, block) =>
        reports.frame({
          ...{ segment, firstBit: 0, bitAt, repairedBits: 0 },
          ...(block && { code: { kind: 'FX.25', correctedOctets: 0 } }),
        }),
      retry,
      blockBegins() {},
      block: decodeBlock,
    },
    limits,
  )

  return {
    accept(bits, { coherence, presence }, isNoise) {
      const first = count & bitMask
      if (isNoise) levels.fill(0, first, first + blockBits)
      else
        for (let bit = 0; bit < blockBits; bit++) {
          levels[first + bit] = bits[bit]!
          bits[bit] = descrambler.push(bits[bit]!)
        }
      count += blockBits
      search.accept(bits, { coherence, presence, ...noTones }, isNoise)
    },
  }
}

const noTones = { markStep: 0, spaceStep: 0, markAmplitude: 0, spaceAmplitude: 0 }
