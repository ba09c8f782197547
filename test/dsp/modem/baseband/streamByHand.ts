// Bits that are written into a stream by hand, in place of those that are cut out of audio.
import { scramble } from '../../../../dsp/framing/scrambler.js'
import { type BitStream, bitCapacity, bitMask } from '../../../../dsp/modem/baseband/bits.js'
import { transmissionLevels } from '../../../../dsp/modem/modulateTransmission.js'

export interface ByHand {
  /** output of the filter at a bit's middle */
  readonly valueAt?: (bit: number) => number
  /** and anywhere, by working samples */
  readonly filtered?: (position: number) => number
  readonly power?: (from: number, to: number) => number
  readonly presenceAt?: (bit: number) => number
  readonly positionAt?: (bit: number) => number
}

/** The latest bits of a stream that has so many of them. */
export function streamByHand(count: number, byHand: ByHand): BitStream {
  const { valueAt, filtered, power, presenceAt, positionAt } = byHand
  const position = new Float64Array(bitCapacity).fill(Number.NaN)
  const value = new Float32Array(bitCapacity).fill(Number.NaN)
  const presence = new Float32Array(bitCapacity)
  for (let bit = Math.max(0, count - bitCapacity); bit < count; bit++) {
    position[bit & bitMask] = positionAt?.(bit) ?? 5 * bit
    value[bit & bitMask] = valueAt?.(bit) ?? 0
    presence[bit & bitMask] = presenceAt?.(bit) ?? 1
  }
  return {
    ...{ position, value, presence, count, coherence: new Float32Array(bitCapacity).fill(1) },
    append: () => {},
    filtered: filtered ?? (() => 0),
    power: power ?? (() => 1),
    latestCoherence: () => 1,
  }
}

/** Flags, frames and flags as they are sent: scrambled levels. */
export const sentLevels = (
  frames: readonly Uint8Array[],
  code?: { readonly kind: 'fx25'; readonly checkOctets: 16 | 32 | 64 },
): Uint8Array =>
  // 12 flags before the opening one, 6 behind the closing one.
  scramble(transmissionLevels({ frames, preambleMs: 10, tailMs: 5, bitRate: 9600, code }))
