// Bits decided over whole sequences, first pass: the filter matched to the pulse leaves g(1) and g(2) of each bit in its
// neighbours (pulse.ts), and its noise is not white; of the sequence a, with the filter's outputs y in units of the height, the
// likelihood grows by
//     a[k] (y[k] - g(1) a[k-1] - g(2) a[k-2])
// Source: G. Ungerboeck, Adaptive Maximum-Likelihood Receiver for Carrier-Modulated Data-Transmission Systems, IEEE Trans. Commun.
// 22, 1974. The state is the last two bits.
import { bitMask, blockBits } from './bits.js'
import type { BlockLevels } from './blockLevels.js'
import { pulseCorrelation } from './pulse.js'

const stateCount = 4

export interface BitTrellis {
  /**
   * Takes one block and decides on the block before it.
   * @param first number of the block's first bit, a multiple of 32
   * @param bits the 32 levels (1 above) of the block before, written here
   */
  step(value: Float32Array, first: number, levels: BlockLevels, bits: Uint8Array): void
}

export function createBitTrellis(): BitTrellis {
  let metric = new Float64Array(stateCount)
  let next = new Float64Array(stateCount)
  /** bit s: state s came from s >> 1 | 2 instead of s >> 1 */
  const choices = new Uint8Array(2 * blockBits)
  const g0 = pulseCorrelation(0)
  const g1 = pulseCorrelation(1)
  const g2 = pulseCorrelation(2)
  /** what the two bits of a state take off, 1 as +1: older bit 2, newer bit 1 */
  const remainder = Float64Array.from(
    { length: stateCount },
    (_, state) => g1 * (2 * (state & 1) - 1) + g2 * (2 * (state >> 1) - 1),
  )

  return {
    step(value, first, { height, offset }, bits) {
      choices.copyWithin(0, blockBits)
      const scale = height > 0 ? g0 / height : 0
      for (let bit = 0; bit < blockBits; bit++) {
        const y = (value[(first + bit) & bitMask]! - offset) * scale
        let chosen = 0
        for (let state = 0; state < stateCount; state++) {
          const [one, other] = [state >> 1, (state >> 1) | 2]
          const sign = 2 * (state & 1) - 1
          const metric0 = metric[one]! + sign * (y - remainder[one]!)
          const metric1 = metric[other]! + sign * (y - remainder[other]!)
          if (metric1 > metric0) chosen |= 1 << state
          next[state] = Math.max(metric0, metric1)
        }
        choices[blockBits + bit] = chosen
        const swap = metric
        metric = next
        next = swap
      }
      const zero = metric[0]!
      for (let state = 0; state < stateCount; state++) metric[state]! -= zero
      let state = metric.indexOf(Math.max(...metric))
      for (let bit = 2 * blockBits - 1; bit >= 0; bit--) {
        if (bit < blockBits) bits[bit] = state & 1
        state = (state >> 1) | ((choices[bit]! >> state) & 1 ? 2 : 0)
      }
    },
  }
}
