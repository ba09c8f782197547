import { describe, expect, it } from 'vitest'
import { createNearMisses } from '../../../dsp/causes/nearMisses.js'

const lost = (firstSample: number, lastSample: number) => ({ firstSample, lastSample })
const end = Number.POSITIVE_INFINITY

describe('near-misses', () => {
  it('of one signal count once, the longest; none where it was read all the same', () => {
    const misses = createNearMisses(100_000)
    misses.damaged(lost(1000, 5000))
    misses.damaged(lost(1200, 5600))
    misses.damaged(lost(20_000, 24_000))
    misses.damaged(lost(30_000, 33_000))
    misses.read(lost(19_900, 23_900))
    expect(misses.release(32_000)).toEqual([lost(1200, 5600)])
    expect(misses.release(end)).toEqual([lost(30_000, 33_000)])
    expect(misses.release(end)).toEqual([])
  })

  it('a signal that was found otherwise counts only where the receiver told nothing', () => {
    const misses = createNearMisses(100_000)
    misses.damaged(lost(1000, 5000))
    misses.read(lost(10_000, 15_000))
    for (const [from, to] of [
      [0, 5000],
      [9000, 15_500],
      [30_000, 34_000],
    ] as const)
      misses.signal(lost(from, to))
    expect(misses.release(6000)).toEqual([lost(1000, 5000)])
    expect(misses.release(end)).toEqual([lost(30_000, 34_000)])
  })

  it('a damaged frame that is told again after it was given is not given again', () => {
    const misses = createNearMisses(100_000)
    misses.damaged(lost(1000, 5000))
    expect(misses.release(6000)).toHaveLength(1)
    misses.damaged(lost(1010, 4990))
    expect(misses.release(end)).toEqual([])
  })
})
