import { describe, expect, it } from 'vitest'
import { createContentPlan } from '../../src/radio/contentPlan.js'
import { contentDurationMs } from '../../src/radio/transmissionAudio.js'
import type { TransmitOptions } from '../../src/radio/transmitOptions.js'
import { controllerBench } from './controllerBench.js'
import { frame, ownCall, transmitDefaults } from './fixtures.js'

const planOf = (change: Partial<TransmitOptions> = {}) =>
  createContentPlan({
    ...{ ...transmitDefaults, ...change },
    ...{ durationMs: contentDurationMs, keyOverheadMs: 50, unkeyMarginMs: 10 },
  })

describe('what a transmission holds', () => {
  it('an identification that fits no limit ends the start, where anything could be sent', () => {
    const plan = planOf()
    const neededMs = plan.keyedMs(plan.identification(false))
    expect(() => planOf({ timeOutMs: Math.ceil(neededMs) })).not.toThrow()
    const tooShort = { timeOutMs: Math.floor(neededMs) - 1 }
    expect(() => planOf(tooShort)).toThrow(RangeError)
    const tight = [{ windowMs: 100_000, share: (neededMs - 1) / 100_000 }]
    expect(() => planOf({ dutyLimits: tight })).toThrow(RangeError)
    // Nothing goes out there, so receiving may go on.
    expect(() => planOf({ ...tooShort, enabled: false })).not.toThrow()
    expect(() => planOf({ ...tooShort, call: 'N0CALL-10' })).not.toThrow()
  })

  it('while an identification is owed, its airtime and content stay as they were set aside', () => {
    const plan = planOf()
    const { keyDelayMs } = plan.access()
    const preambleOf = (owed: boolean): number | undefined => {
      const content = plan.identification(owed)
      return content.kind === 'frames' ? content.preambleMs : undefined
    }
    const [reserveMs, longestMs] = [plan.reserveMs(), plan.identificationMsMax()]
    plan.change({ keyDelayMs: keyDelayMs + 400 }, true)
    expect(plan.access().keyDelayMs).toBe(keyDelayMs + 400)
    expect([preambleOf(true), preambleOf(false)]).toEqual([keyDelayMs, keyDelayMs + 400])
    expect([plan.reserveMs(), plan.identificationMsMax()]).toEqual([reserveMs, longestMs])
    plan.setIdentificationPending(true)
    expect(preambleOf(true)).toBe(keyDelayMs)
    plan.setIdentificationPending(false)
    expect([preambleOf(true), preambleOf(false)]).toEqual([keyDelayMs + 400, keyDelayMs + 400])
    expect(plan.reserveMs()).toBeGreaterThan(reserveMs)
    expect(plan.identificationMsMax()).toBeCloseTo(longestMs + 400, 6)
    // and where none is owed, at once
    plan.change({ keyDelayMs }, false)
    expect([preambleOf(true), plan.reserveMs()]).toEqual([keyDelayMs, reserveMs])
  })

  it('what waits and has become too long under other settings is refused, the rest goes out', () => {
    const bench = controllerBench()
    const own = (count: number): Uint8Array => frame(ownCall, 'x'.repeat(count))
    bench.feed({ kind: 'hold', source: 'operator', reason: 'for lunch' })
    bench.send('long', own(950))
    bench.send('short', own(20))
    bench.advanceTo(1000)
    expect(bench.outcomes.filter(({ kind }) => kind === 'refused')).toEqual([])
    bench.feed({ kind: 'access', change: { keyDelayMs: 2000 } })
    bench.feed({ kind: 'release', source: 'operator' })
    bench.advanceTo(30_000)
    const fates = bench.outcomes.filter(({ kind }) => kind !== 'held')
    expect(fates.map(({ id, kind }) => `${id} ${kind}`)).toEqual(['long refused', 'short sent'])
  })
})
