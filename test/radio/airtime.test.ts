import { describe, expect, it } from 'vitest'
import { encodeHdlc } from '../../dsp/framing/hdlcEncoder.js'
import { airtime, reserveOf } from '../../src/radio/airtime.js'
import { createContentPlan } from '../../src/radio/contentPlan.js'
import { allowanceOf, createDutyLedger, type KeyedSpan } from '../../src/radio/dutyLedger.js'
import { contentDurationMs, transmissionAudio } from '../../src/radio/transmissionAudio.js'
import { seededRandom } from '../../src/runtime/random.js'
import { frame, transmitDefaults } from './fixtures.js'

const timing = { durationMs: contentDurationMs, keyOverheadMs: 0, unkeyMarginMs: 0 }
const limits = [{ windowMs: 360_000, share: 0.2 }]
const framedBits = (octets: Uint8Array): number =>
  encodeHdlc({ frames: [octets], leadingFlags: 1, trailingFlags: 1 }).length
const plan = createContentPlan({ ...transmitDefaults, dutyLimits: limits, ...timing })
const at = (nowMs: number, past: readonly KeyedSpan[] = [], duty = limits, reserveMs = 0) =>
  airtime({ limits: duty, ledger: createDutyLedger(duty, past), plan, reserveMs, nowMs })

describe('airtime', () => {
  it('counts the frames of one transmission, with what it takes besides', () => {
    const { keyedMs } = at(0)
    // 300 ms of key delay, 50 ms of tail; 1200 bit/s
    expect(keyedMs([])).toBeGreaterThanOrEqual(350)
    expect(keyedMs([])).toBeLessThan(370)
    const one = keyedMs([frame('QQ1RP', 'x'.repeat(100))]) - keyedMs([])
    expect(one).toBeGreaterThan((8 * 117) / 1.2)
    expect(one).toBeLessThan((8 * 118 * 1.2 + 20) / 1.2)
  })

  it('counts the check octets and the filling of forward error correction, and so does what is set aside', () => {
    const code = { kind: 'fx25', checkOctets: 32 } as const
    const coded = createContentPlan({ ...transmitDefaults, code, dutyLimits: limits, ...timing })
    const octets = frame('QQ1RP', 'x'.repeat(50))
    const content = coded.framesContent([octets])
    // tag and 160 octets, in place of the frame between its flags
    expect(coded.keyedMs(content) - plan.keyedMs(plan.framesContent([octets]))).toBeCloseTo(
      ((8 + 160 + 2) * 8 - framedBits(octets)) / 1.2,
    )
    const { length } = transmissionAudio(content, {
      ...{ sampleRateHz: 48_000, peakLevel: 0.5, toneBalanceDb: 0 },
    })
    expect(length / 48).toBeCloseTo(coded.keyedMs(content))
    expect(coded.reserveMs()).toBeGreaterThan(plan.reserveMs() + 100)
  })

  it.each([
    { kind: 'fx25', checkOctets: 64 },
    { kind: 'il2p', hasCrc: true },
    { kind: 'il2p', hasCrc: false },
  ] as const)('is as long as the audio of $kind, also where a frame is too long for it', (code) => {
    const coded = createContentPlan({ ...transmitDefaults, code, dutyLimits: limits, ...timing })
    const shape = { sampleRateHz: 48_000, peakLevel: 0.5, toneBalanceDb: 0 }
    for (const lengths of [[10, 200], [20, 1100], []]) {
      const frames = lengths.map((length) => frame('QQ1RP', 'x'.repeat(length)))
      const content = coded.framesContent(frames)
      expect(transmissionAudio(content, shape).length / 48).toBeCloseTo(coded.keyedMs(content))
    }
  })

  it('is what the limit leaves, less what is set aside', () => {
    const set = plan.reserveMs()
    expect(at(0).freeMs('answer')).toBeCloseTo(72_000 - set)
    expect(at(0, [], limits, 18_000).freeMs('answer')).toBeCloseTo(54_000 - set)
    expect(at(0, [], limits, 18_000).freeMs('emergency')).toBeCloseTo(72_000 - set)
    const used = at(100_000, [{ fromMs: 10_000, toMs: 80_000 }])
    expect(used.freeMs('answer')).toBeCloseTo(2_000 - set)
    // 10 s are free when 8 s and what is set aside have left the window
    expect(used.earliestMs(10_000, 'answer')).toBeCloseTo(370_000 + 8_000 + set - (10_000 + set))
    expect(at(0).earliestMs(80_000, 'answer')).toBe(Number.POSITIVE_INFINITY)
  })

  it('comes back when what was sent leaves the window: a forecast for 10 and for 20 minutes', () => {
    const free = at(0).forecast(1_200_000, 'answer')
    expect(free(0)).toBe(0)
    expect(free(360_000)).toBeGreaterThan(66_000)
    expect(free(360_000)).toBeLessThanOrEqual(72_000)
    expect(free(600_000) / 144_000).toBeCloseTo(1, 1)
    expect(free(1_200_000) / 288_000).toBeCloseTo(1, 1)
  })

  it('without a limit is all the time that there is', () => {
    const none = at(5_000, [], [{ windowMs: 360_000, share: 1 }])
    expect(none.freeMs('answer')).toBe(Number.POSITIVE_INFINITY)
    expect(none.forecast(65_000, 'answer')(65_000)).toBe(60_000)
    expect(reserveOf({ ...transmitDefaults, dutyLimits: [], reserveShare: 0.25 })).toBe(0)
    expect(allowanceOf([])).toBe(Number.POSITIVE_INFINITY)
  })

  it('that is forecast can really be used, and no more than the windows allow (random pasts)', () => {
    const random = seededRandom(3)
    for (let run = 0; run < 200; run++) {
      const duty = [
        { windowMs: 60_000 + 300_000 * random(), share: 0.1 + 0.5 * random() },
        { windowMs: 900_000, share: 0.1 + 0.5 * random() },
      ]
      const past: KeyedSpan[] = []
      const ledger = createDutyLedger(duty)
      for (let fromMs = 0; fromMs < 400_000; fromMs += 1_000 + 20_000 * random()) {
        const startMs = ledger.earliestMs(fromMs, 2_000)!
        if (startMs > 400_000) break
        fromMs = startMs
        past.push({ fromMs, toMs: fromMs + 2_000 })
        ledger.note(past.at(-1)!)
        fromMs += 2_000
      }
      const nowMs = Math.max(400_000, past.at(-1)?.toMs ?? 0)
      const untilMs = nowMs + 600_000
      const freeMs = at(nowMs, past, duty).forecast(untilMs, 'answer')(untilMs)
      // what all whole windows from now on, and the part of one that is left, may hold together
      const most = duty.map(
        ({ windowMs, share }) => Math.ceil(600_000 / windowMs) * windowMs * share,
      )
      expect(freeMs).toBeLessThanOrEqual(Math.min(...most) + 1e-6)
      expect(freeMs).toBeGreaterThan(0)
    }
  })
})
