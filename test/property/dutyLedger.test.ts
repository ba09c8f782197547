import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  createDutyLedger,
  type DutyLimit,
  type KeyedSpan,
  onTime,
} from '../../src/radio/dutyLedger.js'
import { fullestPast } from '../../src/radio/unknownPast.js'

const limit = fc.record({
  windowMs: fc.integer({ min: 10, max: 300 }),
  share: fc.integer({ min: 1, max: 99 }).map((percent) => percent / 100),
})
const spans = fc
  .array(fc.tuple(fc.integer({ min: 0, max: 60 }), fc.integer({ min: 1, max: 40 })), {
    maxLength: 12,
  })
  .map((gaps) => {
    let atMs = 0
    return gaps.map(([offMs, onMs]): KeyedSpan => {
      const fromMs = atMs + offMs
      atMs = fromMs + onMs
      return { fromMs, toMs: atMs }
    })
  })
const end = (past: readonly KeyedSpan[]): number => past.at(-1)?.toMs ?? 0

/** By the rule itself: no window that ends during or at the end of the new span holds more than its allowance. */
function allowed(
  limits: readonly DutyLimit[],
  past: readonly KeyedSpan[],
  span: KeyedSpan,
): boolean {
  const all = [...past, span]
  const corners = all.flatMap(({ fromMs, toMs }) => [fromMs, toMs])
  return limits.every(({ windowMs, share }) =>
    corners
      .flatMap((corner) => [corner, corner + windowMs])
      .filter((endMs) => endMs > span.fromMs)
      .every((endMs) => onTime(all, endMs - windowMs, endMs) <= share * windowMs + 1e-6),
  )
}

/** Limits that the past itself kept: otherwise nothing can be said of the windows that hold only the past. */
const kept = (limits: readonly DutyLimit[], past: readonly KeyedSpan[]): boolean =>
  past.every((span, index) => allowed(limits, past.slice(0, index), span))

const cases = fc
  .tuple(fc.array(limit, { minLength: 1, maxLength: 2 }), spans, fc.integer({ min: 0, max: 200 }))
  .filter(([limits, past]) => kept(limits, past))
const runs = { numRuns: 3000 }

describe('duty ledger, against the rule itself', () => {
  it('longestMs is allowed, and nothing longer is', () => {
    fc.assert(
      fc.property(cases, ([limits, past, laterMs]) => {
        const fromMs = end(past) + laterMs
        const longestMs = createDutyLedger(limits, past).longestMs(fromMs)
        if (longestMs > 1e-3)
          expect(allowed(limits, past, { fromMs, toMs: fromMs + longestMs - 1e-9 })).toBe(true)
        expect(allowed(limits, past, { fromMs, toMs: fromMs + longestMs + 0.01 })).toBe(false)
      }),
      runs,
    )
  })

  it('earliestMs is allowed, and nothing earlier is', () => {
    fc.assert(
      fc.property(
        cases,
        fc.integer({ min: 1, max: 100 }),
        ([limits, past, laterMs], durationMs) => {
          const fromMs = end(past) + laterMs
          const earliestMs = createDutyLedger(limits, past).earliestMs(fromMs, durationMs)
          const possible = limits.every(
            ({ windowMs, share }) => durationMs <= share * windowMs + 1e-9,
          )
          expect(earliestMs !== undefined).toBe(possible)
          if (earliestMs === undefined) return
          const at = (startMs: number): KeyedSpan => ({
            fromMs: startMs,
            toMs: startMs + durationMs,
          })
          expect(allowed(limits, past, at(earliestMs))).toBe(true)
          if (earliestMs > fromMs + 0.01)
            expect(allowed(limits, past, at(earliestMs - 0.01))).toBe(false)
        },
      ),
      runs,
    )
  })

  it('what may begin at earliestMs may also be finished, whatever fractions the times have', () => {
    const fraction = fc.double({ min: 0, max: 1, noNaN: true })
    fc.assert(
      fc.property(cases, fraction, fraction, ([limits, past, laterMs], offset, stretch) => {
        // Times of a real clock are no whole numbers: sums of them are off in the last digit.
        const scale = 1 + stretch / 3
        const real = past.map(({ fromMs, toMs }) => ({
          fromMs: 1e8 + (fromMs + offset) * scale,
          toMs: 1e8 + (toMs + offset) * scale,
        }))
        const realLimits = limits.map((one) => ({ ...one, windowMs: one.windowMs * scale }))
        const ledger = createDutyLedger(realLimits, real)
        const durationMs = (1 + laterMs / 10) * scale
        const atMs = ledger.earliestMs(end(real) + laterMs, durationMs)
        if (atMs !== undefined) expect(ledger.longestMs(atMs)).toBeGreaterThan(durationMs - 1e-3)
      }),
      runs,
    )
  })
})

describe('the fullest past', () => {
  it('is allowed, and no other that is allowed has more in any time up to now', () => {
    fc.assert(
      fc.property(cases, ([limits, past]) => {
        const nowMs = end(past)
        const fullest = fullestPast(limits, nowMs)
        expect(kept(limits, fullest)).toBe(true)
        // a hundredth of an allowance is the shortest piece that it looks for
        const slackMs = Math.max(...limits.map(({ windowMs, share }) => share * windowMs)) / 50
        const longestMs = Math.max(...limits.map(({ windowMs }) => windowMs))
        for (let agoMs = 1; agoMs <= longestMs; agoMs += 3)
          expect(onTime(fullest, nowMs - agoMs, nowMs)).toBeGreaterThan(
            onTime(past, nowMs - agoMs, nowMs) - slackMs,
          )
      }),
      { numRuns: 1000 },
    )
  })
})
