import { describe, expect, it } from 'vitest'
import { type AirtimeParts, airtime, reserveOf } from '../../src/radio/airtime.js'
import { createDutyLedger, type DutyLimit, type KeyedSpan } from '../../src/radio/dutyLedger.js'
import type { TransmissionContent } from '../../src/radio/transmissionContent.js'
import { transmitDefaults } from './fixtures.js'

/** 20 s in any 100 s. */
const limits: readonly DutyLimit[] = [{ windowMs: 100_000, share: 0.2 }]

/** A transmission takes as many ms as it has frames; identifications have `identifyMs`, the urgent have `reserveMs`. */
function at(
  nowMs: number,
  {
    past = [],
    identifyMs = 0,
    reserveMs = 0,
    duty = limits,
  }: {
    past?: readonly KeyedSpan[]
    identifyMs?: number
    reserveMs?: number
    duty?: readonly DutyLimit[]
  } = {},
) {
  const plan: AirtimeParts['plan'] = {
    framesContent: (frames) => ({ kind: 'frames', frames, preambleMs: 0, tailMs: 0 }),
    keyedMs: (content: TransmissionContent) =>
      content.kind === 'frames' ? content.frames.length : 0,
    reserveMs: () => identifyMs,
  }
  return airtime({ limits: duty, ledger: createDutyLedger(duty, past), plan, reserveMs, nowMs })
}
const used = (toMs: number): KeyedSpan[] => [{ fromMs: 0, toMs }]

describe('what is free', () => {
  it('is what the limit leaves, less what is set aside, and never less than nothing', () => {
    const one = at(10_000, { past: used(10_000), identifyMs: 1_000, reserveMs: 4_000 })
    expect([one.freeMs('answer'), one.freeMs('emergency')]).toEqual([5_000, 9_000])
    const full = at(20_000, { past: used(20_000), identifyMs: 1_000, reserveMs: 4_000 })
    expect([full.freeMs('answer'), full.freeMs('emergency')]).toEqual([0, 0])
    expect([one.allowanceMs, one.keyedMs([new Uint8Array(), new Uint8Array()])]).toEqual([
      20_000, 2,
    ])
  })

  it('is as much as is asked for at the earliest when enough of the past has left', () => {
    const one = at(10_000, { past: used(10_000), identifyMs: 1_000, reserveMs: 4_000 })
    expect(one.earliestMs(5_000, 'answer')).toBe(10_000)
    // 1 ms of the past must leave a window that ends 10,001 ms later
    expect(one.earliestMs(5_001, 'answer')).toBe(90_000)
    expect(one.earliestMs(9_000, 'acknowledgement')).toBe(10_000)
    expect(one.earliestMs(15_001, 'answer')).toBe(Number.POSITIVE_INFINITY)
  })
})

describe('a forecast', () => {
  it('goes in fortieths of the allowance, each as early as the limit allows', () => {
    const free = at(0).forecast(200_000, 'answer')
    const moments = [0, 499, 500, 20_000, 100_499, 100_500, 120_000]
    expect(moments.map(free)).toEqual([0, 0, 500, 20_000, 20_000, 20_500, 40_000])
  })

  it('reaches to the moment that was named, and no step over it', () => {
    expect(at(0).forecast(20_000, 'answer')(1e9)).toBe(20_000)
    expect(at(0).forecast(19_999, 'answer')(1e9)).toBe(19_500)
    expect(at(0).forecast(499, 'answer')(1e9)).toBe(0)
  })

  it('leaves what is set aside, and begins with what is free now', () => {
    const aside = { identifyMs: 1_000, reserveMs: 9_000 }
    expect(at(0, aside).forecast(50_000, 'answer')(50_000)).toBe(10_000)
    expect(at(0, aside).forecast(50_000, 'emergency')(50_000)).toBe(19_000)
    const later = at(15_000, { past: used(15_000) }).forecast(90_000, 'answer')
    expect([later(19_999), later(20_000), later(90_000)]).toEqual([4_500, 5_000, 5_000])
    expect(at(0, { identifyMs: 20_000 }).forecast(90_000, 'answer')(90_000)).toBe(0)
  })

  it('without a limit is all the time from now on', () => {
    const free = at(5_000, { duty: [{ windowMs: 1000, share: 1 }] }).forecast(9_000, 'answer')
    expect([free(4_000), free(5_000), free(9_000)]).toEqual([0, 0, 4_000])
  })
})

it('the reserve is a share of what the tightest limit allows, none where nothing limits or none is set', () => {
  const dutyLimits = [...limits, { windowMs: 1_000_000, share: 0.1 }]
  expect(reserveOf({ ...transmitDefaults, dutyLimits, reserveShare: 0.25 })).toBe(5_000)
  expect(reserveOf({ ...transmitDefaults, dutyLimits, reserveShare: undefined })).toBe(0)
  const none = [{ windowMs: 1000, share: 1 }]
  expect(reserveOf({ ...transmitDefaults, dutyLimits: none, reserveShare: 0.25 })).toBe(0)
})
