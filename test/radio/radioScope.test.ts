import { describe, expect, it } from 'vitest'
import { modulateTransmission } from '../../dsp/modem/modulateTransmission.js'
import type { Receiver } from '../../dsp/modem/receivedFrame.js'
import { createReceiver } from '../../dsp/modem/receiver.js'
import { createRadioScope } from '../../src/radio/radioScope.js'
import type { RadioReport, WatchWish } from '../../src/radio/radioWatch.js'
import type { Waiting } from '../../src/radio/transmitQueue.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { frame, ownCall } from './fixtures.js'

const rateHz = 24_000
const startWallMs = 1_000_000

/** A scope over a receiver that says what a test wants. */
function bench(wish: Partial<WatchWish> = {}) {
  const clock = virtualClock(startWallMs)
  const reports: RadioReport[] = []
  const counters = { frames: 3, repaired: 2, fcsRejected: 1 }
  const receiver = { counters, takeDamaged: () => [] } as unknown as Receiver
  const waiting: Waiting[] = []
  const scope = createRadioScope({
    ...{ clock, sampleRateHz: rateHz, wish: { spectrum: false, audio: false, ...wish } },
    ...{ isKeyed: () => false, receiver: () => receiver, waiting: () => waiting },
    tell: (report) => reports.push(report),
  })
  let sampleCount = 0
  /** A block comes when its last sample has arrived. */
  const push = (block: Float32Array): void => {
    clock.advanceBy((block.length * 1000) / rateHz)
    sampleCount += block.length
    scope.push(block, sampleCount, [])
  }
  const pushMs = (ms: number, value = 0): void => {
    for (let at = 0; at < ms; at += 20) push(new Float32Array(rateHz / 50).fill(value))
  }
  return { clock, reports, counters, scope, waiting, push, pushMs }
}

describe('what is told of a radio while somebody looks', () => {
  it('a reading a second: levels of that second alone, and what was read so far', () => {
    const { reports, counters, pushMs } = bench()
    pushMs(980, 0.5)
    expect(reports).toEqual([])
    pushMs(20, 1)
    counters.frames = 4
    pushMs(1000, 0.5)
    const levels = (peakDbfs: number, rmsDbfs: number, clippedShare: number) => ({
      peakDbfs: expect.closeTo(peakDbfs, 2),
      rmsDbfs: expect.closeTo(rmsDbfs, 2),
      clippedShare: expect.closeTo(clippedShare, 6),
    })
    const counts = { readCount: 3, repairedCount: 2, damagedCount: 1 }
    // 0.98 of 0.25 and 0.02 of 1 are 0.265, -5.77 dB
    expect(reports).toEqual([
      { kind: 'reading', atWallMs: startWallMs + 1000, ...levels(0, -5.77, 0.02), ...counts },
      {
        ...{ kind: 'reading', atWallMs: startWallMs + 2000, ...levels(-6.02, -6.02, 0) },
        ...{ ...counts, readCount: 4 },
      },
    ])
  })

  it('rows eight a second, each with the moment of its end, where they are wanted', () => {
    const { reports, pushMs } = bench({ spectrum: true })
    pushMs(520)
    const rows = reports.filter((report) => report.kind === 'row')
    expect(rows.map(({ atWallMs }) => atWallMs - startWallMs)).toEqual([125, 250, 375, 500])
    expect(rows[0]!.levels).toHaveLength(144)
  })

  it('its audio at 12,000 samples a second, 16 bit, cut at full scale, where it is wanted', () => {
    const { reports, pushMs } = bench({ audio: true })
    pushMs(400, 0.5)
    pushMs(400, 2)
    const audio = reports.filter((report) => report.kind === 'audio')
    const samples = audio.flatMap((report) => [...report.samples])
    expect(Math.abs(samples.length - 800 * 12)).toBeLessThan(120)
    expect(Math.abs(samples[2400]! - 16_384)).toBeLessThan(20)
    expect(samples.at(-1)).toBe(32_767)
    const low = bench({ audio: true })
    low.pushMs(400, -2)
    const last = low.reports.findLast((report) => report.kind === 'audio')
    expect(last!.samples.at(-1)).toBe(-32_767)
    expect(reports.some(({ kind }) => kind === 'row')).toBe(false)
  })

  it('its carrier, at once', () => {
    const { clock, reports, scope } = bench()
    clock.advanceTo(70)
    scope.carrier(true)
    scope.carrier(false)
    expect(reports).toEqual([
      { kind: 'carrier', atWallMs: startWallMs + 70, busy: true },
      { kind: 'carrier', atWallMs: startWallMs + 70, busy: false },
    ])
  })

  it('its queue, with the next block after it has become another', () => {
    const { reports, waiting, pushMs } = bench()
    const content = { kind: 'frame', octets: Uint8Array.of(1), identifies: true } as const
    const common = { priority: 'answer', notAfterMs: 1000, origin: 'node', sinceMs: 0 } as const
    waiting.push({ id: 'a', ...common, content })
    pushMs(40)
    expect(reports).toMatchObject([{ kind: 'queue', atWallMs: startWallMs + 20 }])
  })
})

describe('a damaged frame', () => {
  const scopeRateHz = 12_000
  /** A frame with its middle taken out, half a second after somebody began to look at a receiver that was there before. */
  function damagedOn(isKeyedUntilMs = 0) {
    const clock = virtualClock(startWallMs)
    const receiver = createReceiver({ sampleRateHz: scopeRateHz, repair: 'none' })
    const before = 5 * scopeRateHz
    receiver.push(new Float32Array(before))
    const reports: RadioReport[] = []
    const scope = createRadioScope({
      ...{ clock, sampleRateHz: scopeRateHz, wish: { spectrum: false, audio: false } },
      ...{ isKeyed: () => clock.monotonicMs() < isKeyedUntilMs, receiver: () => receiver },
      ...{ waiting: () => [], tell: (report) => reports.push(report) },
    })
    const signal = modulateTransmission({
      frames: [
        frame(
          ownCall,
          'The quick brown fox jumps over the lazy dog, 0123456789 times ~ and again.',
        ),
      ],
      ...{ preambleMs: 200, tailMs: 50, sampleRateHz: scopeRateHz, peakLevel: 0.5 },
    })
    const middle = Math.round(signal.length / 2)
    signal.fill(0, middle, middle + 60)
    const audio = new Float32Array(4 * scopeRateHz)
    audio.set(signal, scopeRateHz / 2)
    const moments: number[] = []
    for (let at = 240; at <= audio.length; at += 240) {
      const block = audio.slice(at - 240, at)
      clock.advanceBy(20)
      const known = reports.length
      scope.push(block, before + at, receiver.push(block))
      if (reports.slice(known).some(({ kind }) => kind === 'damaged')) moments.push(at / 12)
    }
    const damaged = reports.filter((report) => report.kind === 'damaged')
    return { damaged, moments, signalMs: (signal.length * 1000) / scopeRateHz }
  }

  it('is told once, with where it lay by the wall clock, its level and its cause', () => {
    const { damaged, moments, signalMs } = damagedOn()
    expect(damaged).toHaveLength(1)
    const [one] = damaged
    const [fromMs, toMs] = [one!.fromWallMs - startWallMs, one!.toWallMs - startWallMs]
    expect(Math.abs(fromMs - 500 - 200)).toBeLessThan(210)
    expect(Math.abs(toMs - 500 - signalMs)).toBeLessThan(100)
    expect(one!.levelDbfs).toBeGreaterThan(-16)
    expect(Math.abs(one!.toneBalanceDb)).toBeLessThan(3)
    expect(one!.causeKinds).toEqual(['samples lost'])
    expect(one!.cause).toMatch(
      /^samples lost 0\.\d\d s after its start: the sound card or the computer/,
    )
    expect(moments[0]).toBeLessThan(500 + signalMs + 2000)
  })

  it('is looked into when the transmitter is off again, and told as it lay', () => {
    const atOnce = damagedOn()
    const later = damagedOn(3500)
    expect(later.damaged).toEqual(atOnce.damaged)
    expect([atOnce.moments[0]! < 3500, later.moments[0]]).toEqual([true, 3500])
  })
})
