import { describe, expect, it } from 'vitest'
import {
  allowanceOf,
  createDutyLedger,
  type DutyLimit,
  type KeyedSpan,
  onTime,
} from '../../src/radio/dutyLedger.js'

/** 20 s in any 100 s. */
const one: readonly DutyLimit[] = [{ windowMs: 100_000, share: 0.2 }]
/** And 50 s in any 1,000 s. */
const two: readonly DutyLimit[] = [...one, { windowMs: 1_000_000, share: 0.05 }]

const spans = (...pairs: (readonly [number, number])[]): KeyedSpan[] =>
  pairs.map(([fromMs, toMs]) => ({ fromMs, toMs }))
const early = spans([0, 10_000], [50_000, 55_000])
const full = spans([0, 20_000], [200_000, 220_000])

describe('the longest transmission that may begin at a moment', () => {
  it.each([
    ['what the window still has', one, early, 60_000, 5_000],
    // 17 s are in the window while the first span leaves it, and 3 s more fit after that
    ['more, where old airtime leaves the window meanwhile', one, early, 98_000, 15_000],
    ['never more than the allowance', one, early, 151_000, 20_000],
    ['all of it, once the past has left', one, early, 400_000, 20_000],
    ['nothing where all is used', one, spans([0, 20_000]), 20_000, 0],
    ['nothing a moment before it comes back', one, spans([0, 20_000]), 99_000, 0],
    ['all where it leaves as fast as it is used', one, spans([0, 20_000]), 100_000, 20_000],
    ['nothing where more is used than allowed', one, spans([0, 25_000]), 25_000, 0],
    ['nothing then, though it leaves meanwhile', one, spans([0, 25_000]), 100_000, 0],
    ['all where two spans leave in it', one, spans([0, 5_000], [8_000, 18_000]), 100_000, 20_000],
    ['what the tighter of two limits leaves', two, full, 400_000, 10_000],
  ])('is %s', (_, limits, past, fromMs, longestMs) => {
    expect(createDutyLedger(limits, past).longestMs(fromMs)).toBe(longestMs)
  })

  it('has no bound where no limit limits', () => {
    const { longestMs } = createDutyLedger([{ windowMs: 1000, share: 1 }], early)
    expect(longestMs(60_000)).toBe(Number.POSITIVE_INFINITY)
    expect(createDutyLedger([]).longestMs(0)).toBe(Number.POSITIVE_INFINITY)
  })
})

describe('the earliest moment for a transmission', () => {
  it.each([
    ['at once, where it fits', one, early, 5_000, 60_000],
    ['when a millisecond of the first span has left', one, early, 5_001, 95_000],
    ['when the first span has left', one, early, 15_000, 95_000],
    ['when a millisecond of the second has left', one, early, 15_001, 135_000],
    ['when all of the past has left', one, early, 20_000, 135_000],
    ['never, where it is longer than the allowance', one, early, 20_001, undefined],
    ['when the slower of two limits allows it', two, full, 20_000, 990_000],
    ['never, where one of two never does', two, [], 20_001, undefined],
  ])('is %s', (_, limits, past, durationMs, earliestMs) => {
    expect(createDutyLedger(limits, past).earliestMs(60_000, durationMs)).toBe(earliestMs)
  })

  it('is any where no limit limits', () => {
    const { earliestMs } = createDutyLedger([{ windowMs: 1000, share: 1 }], early)
    expect(earliestMs(60_000, 5_000)).toBe(60_000)
  })
})

describe('a limit whose product is a little less than it says (0.29 of 100)', () => {
  const limits = [{ windowMs: 100, share: 0.29 }]

  it('lets through what fits exactly, and nothing longer', () => {
    const { earliestMs } = createDutyLedger(limits)
    expect([earliestMs(0, 29), earliestMs(0, 29.000_01)]).toEqual([0, undefined])
  })

  it('is not broken by what used it up exactly', () => {
    const { longestMs } = createDutyLedger(limits, spans([0, 29]))
    expect(longestMs(29)).toBe(0)
    expect(longestMs(100)).toBeCloseTo(29, 9)
    expect(longestMs(100 - 1e-7)).toBeCloseTo(29, 5)
    expect(longestMs(99.999)).toBe(0)
  })
})

describe('the share that is used', () => {
  it('counts a transmission that still runs', () => {
    const { usedShare } = createDutyLedger(one, spans([0, 10_000]))
    expect([usedShare(10_000), usedShare(15_000, 12_000)]).toEqual([0.5, 0.65])
  })

  it('is that of the limit that is nearest to being reached, and at most 1', () => {
    const ledger = createDutyLedger(two, full)
    // 0 of 20 s, and 40 of 50 s
    expect(ledger.usedShare(400_000)).toBe(0.8)
    expect(ledger.usedShare(220_000)).toBe(1)
    expect(createDutyLedger(one, spans([0, 25_000])).usedShare(25_000)).toBe(1)
    expect(createDutyLedger([], full).usedShare(220_000)).toBe(0)
  })
})

describe('what a ledger keeps', () => {
  it('is what it was given and what was noted, in order, without what had no length', () => {
    const past = spans([0, 1_000])
    const ledger = createDutyLedger(one, past)
    ledger.note({ fromMs: 5_000, toMs: 5_000 })
    ledger.note({ fromMs: 6_000, toMs: 7_000 })
    expect(ledger.spans()).toEqual(spans([0, 1_000], [6_000, 7_000]))
    expect(past).toHaveLength(1)
  })

  it('is nothing where nothing had a length', () => {
    const ledger = createDutyLedger(one)
    ledger.note({ fromMs: 5_000, toMs: 5_000 })
    expect(ledger.spans()).toEqual([])
  })

  it('goes when it has left the longest window', () => {
    const ledger = createDutyLedger(two, spans([0, 1_000], [2_000, 3_000]))
    ledger.note({ fromMs: 1_000_500, toMs: 1_001_000 })
    expect(ledger.spans()).toHaveLength(3)
    ledger.note({ fromMs: 1_002_000, toMs: 1_003_001 })
    expect(ledger.spans()).toEqual(spans([1_000_500, 1_001_000], [1_002_000, 1_003_001]))
  })

  it.each([
    [0, 1000],
    [1.01, 1000],
    [Number.NaN, 1000],
    [0.5, 0],
    [0.5, Number.NaN],
  ])('is never under a share of %d in %d ms', (share, windowMs) => {
    expect(() => createDutyLedger([{ windowMs, share }])).toThrow(
      new RangeError(`duty limit: got a share of ${share} in ${windowMs} ms`),
    )
  })
})

it('the allowance is that of the limit that allows least', () => {
  expect(allowanceOf(two)).toBe(20_000)
  expect(allowanceOf([...two, { windowMs: 1000, share: 1 }])).toBe(20_000)
  expect(allowanceOf([{ windowMs: 1000, share: 1 }])).toBe(Number.POSITIVE_INFINITY)
})

it('the time on within a window is that of the parts of spans within it', () => {
  expect(onTime(early, 5_000, 52_000)).toBe(7_000)
  expect(onTime(early, 10_000, 50_000)).toBe(0)
})
