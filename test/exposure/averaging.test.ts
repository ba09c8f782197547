import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type DutyLimit, worstKeyedShare } from '../../src/exposure/averaging.js'

describe('worstKeyedShare', () => {
  it('without a limit the transmitter may be keyed all the time', () => {
    expect(worstKeyedShare(360, [])).toBe(1)
  })

  it('20 % of 6 minutes holds for the averaging times of 6 and 30 minutes alike', () => {
    const limits = [{ windowS: 360, share: 0.2 }]
    expect(worstKeyedShare(360, limits)).toBeCloseTo(0.2, 12)
    expect(worstKeyedShare(1800, limits)).toBeCloseTo(0.2, 12)
  })

  it('a long window alone may spend all of its time inside a short averaging time', () => {
    expect(worstKeyedShare(360, [{ windowS: 1800, share: 0.2 }])).toBe(1)
    expect(worstKeyedShare(360, [{ windowS: 1800, share: 0.1 }])).toBe(0.5)
  })

  it('what is left of an averaging time counts in full', () => {
    // 600 s hold one window of 360 s with 72 s keyed, and 240 s more, in which another 72 s fit
    expect(worstKeyedShare(600, [{ windowS: 360, share: 0.2 }])).toBeCloseTo(144 / 600, 12)
  })

  it('no schedule that keeps the limits is above it (greedy keying, second by second)', () => {
    const limit = fc.record({
      windowS: fc.integer({ min: 1, max: 60 }),
      share: fc.double({ min: 0, max: 1, noNaN: true }),
    })
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 80 }),
        fc.array(limit, { maxLength: 2 }),
        fc.array(fc.boolean(), { minLength: 160, maxLength: 160 }),
        (averagingS, limits, wishes) => {
          const keyed = keyGreedily(wishes, limits)
          const worst = largestSumIn(keyed, averagingS) / averagingS
          expect(worst).toBeLessThanOrEqual(worstKeyedShare(averagingS, limits) + 1e-9)
        },
      ),
      { numRuns: 500, seed: 65 },
    )
  })

  it('a greedy schedule reaches it for one limit', () => {
    const limits = [{ windowS: 36, share: 0.25 }]
    const keyed = keyGreedily(Array<boolean>(400).fill(true), limits)
    expect(largestSumIn(keyed, 60) / 60).toBe(worstKeyedShare(60, limits))
  })
})

/** Keys each second that is wished for and that no window forbids. */
function keyGreedily(wishes: readonly boolean[], limits: readonly DutyLimit[]): number[] {
  const keyed: number[] = []
  for (const wish of wishes) {
    const allowed = limits.every(({ windowS, share }) => {
      const recent = windowS > 1 ? keyed.slice(-(windowS - 1)) : []
      return recent.reduce((sum, one) => sum + one, 0) + 1 <= windowS * share
    })
    keyed.push(wish && allowed ? 1 : 0)
  }
  return keyed
}

function largestSumIn(keyed: readonly number[], lengthS: number): number {
  let largest = 0
  for (let from = 0; from + lengthS <= keyed.length; from++) {
    const sum = keyed.slice(from, from + lengthS).reduce((total, one) => total + one, 0)
    largest = Math.max(largest, sum)
  }
  return largest
}
