import { describe, expect, it } from 'vitest'
import { formatUnknownPast, fullestPast } from '../../src/radio/unknownPast.js'

const one = [{ windowMs: 100_000, share: 0.2 }]
const two = [...one, { windowMs: 300_000, share: 0.1 }]

describe('a past of which nothing is known', () => {
  it('is the most that the limits can have allowed, as late as that can have been', () => {
    expect(fullestPast(one, 1_000_000)).toEqual([{ fromMs: 980_000, toMs: 1_000_000 }])
    // 20 s of the last 100 s, and what 30 s in 300 s leave before that
    expect(fullestPast(two, 1_000_000)).toEqual([
      { fromMs: 890_000, toMs: 900_000 },
      { fromMs: 980_000, toMs: 1_000_000 },
    ])
  })

  it('has no pieces below a hundredth of the smallest allowance', () => {
    const secondAgoMs = (longAllowanceMs: number): number => {
      const limits = [...one, { windowMs: 300_000, share: longAllowanceMs / 300_000 }]
      return Math.round(-fullestPast(limits, 0)[0]!.toMs)
    }
    // what the long limit has left when the short one is free again: 201 ms, and 100 ms, of which no piece is made
    expect([secondAgoMs(20_201), secondAgoMs(20_100)]).toEqual([100_000, 299_900])
  })

  it('is empty where nothing limits', () => {
    expect(fullestPast([], 1000)).toEqual([])
    expect(fullestPast([{ windowMs: 100_000, share: 1 }], 1000)).toEqual([])
  })

  it('is told with how long nothing is sent', () => {
    const told = (limits: typeof one): string => formatUnknownPast('a test', limits)
    const begins = 'what was sent before this start is not known: a test; the duty limits begin as'
    expect(told(one)).toBe(`${begins} used up, and nothing is sent for at least 80 s`)
    // the short limit allows a piece of 0.2 s at 80 s, the long one when the older 10 s begin to leave it
    expect(told(two)).toBe(`${begins} used up, and nothing is sent for at least 190 s`)
    expect(told([])).toBe(`${begins} used up, and nothing is sent for at least 0 s`)
  })
})
