import type { DamagedFrame } from '../../../../dsp/modem/receivedFrame.js'
import { adviseOnPackets } from '../../levels/levelsAdvice.js'

/**
 * What was wrong with a damaged frame and what to change at the radio, in the words of `levels`: a line each.
 * @param clippedShare of its samples at the converter's limits, 0 to 1
 */
export function damagedCauses(damaged: DamagedFrame, clippedShare: number): string[] {
  const { levelDbfs, toneBalanceDb } = damaged
  const found = adviseOnPackets([{ levelDbfs, toneBalanceDb, clippedShare }])
  if (found.length > 0) return found
  return [
    'its level and its tones were in order: noise, fading or another sender; compare its eye and the signal beside it with a frame that was read, and try a better aerial or place',
  ]
}
