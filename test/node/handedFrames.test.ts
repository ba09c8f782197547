import { describe, expect, it } from 'vitest'
import { handedFrames } from '../../src/node/handedFrames.js'
import { lookout } from '../../src/node/lookout.js'
import { pace } from '../../src/node/pace.js'
import type { QueuedFrame } from '../../src/node/sendQueue.js'
import type { Priority } from '../../src/radio/port.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { airtimeWith } from './handRadio.js'

/** 100 octets take 1,000 ms, and a transmission 350 ms besides. */
const frame = (id: string, priority: Priority = 'answer', followingOctets = 0): QueuedFrame => ({
  ...{ id, priority, turn: 0, sinceMs: 0, notAfterMs: 900_000, followingOctets },
  octets: new Uint8Array(100),
})
const airtime = airtimeWith()
const sent = (id: string, atMs: number, airtimeMs = 1_000) =>
  ({ id, kind: 'sent', atMs, airtimeMs }) as const

/** What the share is after so much of so long, by the formula of a fading mean. */
const faded = (share: number, airtimeMs: number, elapsedMs: number): number =>
  share + (1 - Math.exp(-elapsedMs / 60_000)) * (airtimeMs / elapsedMs - share)

describe('frames that a radio was given', () => {
  it('are known until they end, however they end', () => {
    const handed = handedFrames()
    const frames = ['a', 'b', 'c'].map((id) => frame(id))
    for (const one of frames) handed.add(one, airtime, 0)
    expect(handed.frames).toEqual(frames)
    expect([handed.has('a'), handed.has('x')]).toEqual([true, false])
    expect(handed.ended({ id: 'a', kind: 'refused', atMs: 1, reason: 'why' })).toBe(frames[0])
    expect(handed.ended({ id: 'b', kind: 'expired', atMs: 1, reason: 'why' })).toBe(frames[1])
    expect(handed.ended(sent('c', 1))).toBe(frames[2])
    expect([handed.frames, handed.has('a')]).toEqual([[], false])
    expect(handed.ended(sent('c', 2))).toBeUndefined()
  })

  it('of others are not known', () => {
    const handed = handedFrames()
    expect([handed.held('x'), handed.ended(sent('x', 1))]).toEqual([undefined, undefined])
    expect(handed.acknowledgementShare(1)).toBe(0)
  })

  it('take what one transmission takes once, and what follows each', () => {
    const handed = handedFrames()
    handed.add(frame('a', 'acknowledgement'), airtime, 0)
    expect([handed.openMs, handed.aheadMs]).toEqual([1_350, 1_350])
    handed.add(frame('b', 'answer', 50), airtime, 0)
    expect([handed.openMs, handed.aheadMs]).toEqual([2_850, 1_350])
    handed.add(frame('c', 'repeat', 20), airtime, 0)
    expect([handed.openMs, handed.aheadMs]).toEqual([4_050, 2_350])
    handed.ended(sent('a', 1))
    expect([handed.openMs, handed.aheadMs]).toEqual([2_700, 1_000])
  })

  it('tell what share of the last minute acknowledgements took', () => {
    const handed = handedFrames()
    const end = (id: string, priority: Priority, atMs: number, airtimeMs: number): void => {
      handed.add(frame(id, priority), airtime, 0)
      handed.ended(sent(id, atMs, airtimeMs))
    }
    end('a', 'acknowledgement', 10_000, 600)
    end('b', 'acknowledgement', 20_000, 1_200)
    end('c', 'answer', 20_000, 9_000)
    handed.add(frame('d', 'acknowledgement'), airtime, 0)
    handed.ended({ id: 'd', kind: 'refused', atMs: 20_000, reason: 'cut', airtimeMs: 6_000 })
    expect(handed.acknowledgementShare(70_000)).toBe(0.03)
    expect(handed.acknowledgementShare(70_001)).toBe(0.02)
    expect(handed.acknowledgementShare(80_001)).toBe(0)
  })
})

describe('the pace of a radio', () => {
  it('is measured by transmission, when the next one ends', () => {
    const handed = handedFrames()
    expect(handed.paceShare).toBe(0.6)
    for (const id of ['a', 'b', 'c', 'd']) handed.add(frame(id), airtime, 1_000)
    handed.ended(sent('a', 5_000, 1_000))
    // of the same transmission
    handed.ended(sent('b', 5_000, 500))
    expect(handed.paceShare).toBe(0.6)
    handed.ended(sent('c', 9_000, 3_000))
    const first = faded(0.6, 1_500, 4_000)
    expect(handed.paceShare).toBeCloseTo(first, 12)
    // since the transmission before it, not since it was given
    handed.ended(sent('d', 10_000, 100))
    expect(handed.paceShare).toBeCloseTo(faded(first, 3_000, 4_000), 12)
  })

  it('is not measured by what was held, nor by what was not sent', () => {
    const handed = handedFrames()
    for (const id of ['a', 'b', 'c']) handed.add(frame(id), airtime, 0)
    expect(handed.held('a')).toEqual(frame('a'))
    handed.ended(sent('a', 50_000, 100))
    handed.ended({ id: 'b', kind: 'refused', atMs: 51_000, reason: 'why', airtimeMs: 1 })
    handed.ended(sent('c', 52_000, 1_000))
    expect(handed.paceShare).toBe(0.6)
    handed.add(frame('d'), airtime, 52_500)
    handed.ended(sent('d', 53_000, 100))
    expect(handed.paceShare).toBeCloseTo(faded(0.6, 1_000, 2_000), 12)
  })

  it('counts from when a frame was given, where that was after the last transmission', () => {
    const handed = handedFrames()
    handed.add(frame('a'), airtime, 0)
    handed.ended(sent('a', 1_000, 0))
    handed.add(frame('b'), airtime, 100_000)
    handed.ended(sent('b', 102_000, 1_000))
    const first = faded(0.6, 0, 1_000)
    expect(handed.paceShare).toBeCloseTo(first, 12)
    handed.add(frame('c'), airtime, 102_000)
    handed.ended(sent('c', 103_000, 1_000))
    expect(handed.paceShare).toBeCloseTo(faded(first, 1_000, 2_000), 12)
  })

  it('fades within a minute, is never above 1, and learns nothing of no time', () => {
    const measured = pace()
    measured.note(100, 0)
    expect(measured.share).toBe(0.6)
    measured.note(30_000, 60_000)
    // by a share of 1 - 1/e
    expect(measured.share).toBeCloseTo(0.5368, 4)
    measured.note(9_000, 1_000)
    expect(measured.share).toBeCloseTo(0.5368 + 0.016529 * 0.4632, 4)
    for (let count = 0; count < 100; count++) measured.note(120_000, 60_000)
    expect(measured.share).toBeCloseTo(1, 9)
  })
})

describe('a lookout', () => {
  it('acts now and when it said, no sooner than 50 ms later, until it is stopped', () => {
    const clock = virtualClock()
    const acted: number[] = []
    const again = [1_000, 1_010, Infinity, 3_000]
    const { look, stop } = lookout(clock, () => {
      acted.push(clock.monotonicMs())
      return again[acted.length - 1]!
    })
    look()
    clock.advanceTo(2_000)
    expect(acted).toEqual([0, 1_000, 1_050])
    expect(clock.nextAtMs()).toBeUndefined()
    look()
    expect(clock.nextAtMs()).toBe(3_000)
    stop()
    expect(clock.nextAtMs()).toBeUndefined()
    look()
    expect(acted).toEqual([0, 1_000, 1_050, 2_000])
  })

  it('that is asked to look sooner does not look at the old time', () => {
    const clock = virtualClock()
    const acted: number[] = []
    const { look } = lookout(clock, () => {
      acted.push(clock.monotonicMs())
      return acted.length === 1 ? 1_000 : 2_000
    })
    look()
    clock.advanceTo(500)
    look()
    clock.advanceTo(1_999)
    expect(acted).toEqual([0, 500])
  })

  it('is not begun anew by what it sets off, and acts again after a failure', () => {
    const clock = virtualClock()
    let count = 0
    const watch = lookout(clock, () => {
      count++
      watch.look()
      if (count === 1) throw new TypeError('broken')
      return Infinity
    })
    expect(() => watch.look()).toThrow('broken')
    watch.look()
    expect(count).toBe(2)
  })
})
