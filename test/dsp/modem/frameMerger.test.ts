import { describe, expect, it } from 'vitest'
import type { CandidateFrame } from '../../../dsp/modem/detector.js'
import { createFrameMerger } from '../../../dsp/modem/frameMerger.js'
import { isPlausibleFrame } from '../../../dsp/modem/plausible.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { testFrame } from './receiving.js'

const hold = 240
const candidate = (start: number, end: number, more: Partial<CandidateFrame> = {}) => ({
  octets: Uint8Array.of(1, 2, 3),
  start,
  end,
  precedingFlags: 4,
  repairedBits: 0,
  detector: 'a',
  ...more,
})

describe('merger', () => {
  it('waits for slower detectors, then gives one frame with the mean position', () => {
    const merger = createFrameMerger(hold)
    merger.frame(candidate(1000, 3000))
    merger.frame(candidate(1004, 3004, { precedingFlags: 9, detector: 'b' }))
    expect(merger.take(3200)).toEqual([])
    expect(merger.take(3300)).toMatchObject([
      { start: 1002, end: 3002, votes: 2, precedingFlags: 9, detector: 'a' },
    ])
    expect(merger.take(9000)).toEqual([])
  })

  it('a report that comes too late is not a second frame', () => {
    const merger = createFrameMerger(hold)
    merger.frame(candidate(1000, 3000))
    expect(merger.take(4000)).toHaveLength(1)
    merger.frame(candidate(1001, 3001))
    expect(merger.take(8000)).toEqual([])
  })

  it('the same octets back to back, or a second later, are two frames', () => {
    const merger = createFrameMerger(hold)
    merger.frame(candidate(1000, 3000))
    merger.frame(candidate(2920, 4920))
    merger.frame(candidate(15_000, 17_000))
    expect(merger.take(Number.POSITIVE_INFINITY).map((frame) => frame.start)).toEqual([
      1000, 2920, 15_000,
    ])
  })

  it('a repaired reading gives way to one whose FCS was right as heard', () => {
    const merger = createFrameMerger(hold)
    merger.frame(candidate(1000, 3000, { octets: Uint8Array.of(9), repairedBits: 2 }))
    merger.frame(candidate(1000, 3000))
    expect(merger.take(5000)).toMatchObject([{ octets: Uint8Array.of(1, 2, 3), repairedBits: 0 }])
  })

  it('the figure of the detector that had to repair least stands', () => {
    const merger = createFrameMerger(hold)
    merger.frame(candidate(1000, 3000, { repairedBits: 2, detector: 'repairing' }))
    merger.frame(candidate(1000, 3000, { detector: 'clean' }))
    expect(merger.take(5000)).toMatchObject([{ detector: 'clean', repairedBits: 0 }])
  })

  it('damage counts once, when several decisions agree on it and no frame explains it', () => {
    const merger = createFrameMerger(hold)
    const damaged = (start: number, end: number, times: number): void => {
      for (let time = 0; time < times; time++)
        merger.damaged({ start: start + time, end: end - time })
    }
    damaged(1000, 3000, 5)
    damaged(5000, 7000, 2)
    damaged(9000, 11_000, 4)
    merger.frame(candidate(9500, 10_900))
    merger.take(Number.POSITIVE_INFINITY)
    expect(merger.damagedCount).toBe(1)
  })
})

describe('plausible address fields (AX.25 2.2 section 3.12)', () => {
  const frame = testFrame(5, seededRandom(1))

  it('two addresses and a control octet are enough', () => {
    expect(isPlausibleFrame(frame)).toBe(true)
    expect(isPlausibleFrame(frame.subarray(0, 15))).toBe(true)
  })

  it('no end of the addresses, an end within one, one address, eleven, or nothing after them are not', () => {
    const ending = (at: number, length: number): Uint8Array => {
      const octets = new Uint8Array(length).fill(0x40)
      octets[at] = 0x41
      return octets
    }
    expect(isPlausibleFrame(new Uint8Array(40).fill(0x40))).toBe(false)
    expect(isPlausibleFrame(ending(12, 40))).toBe(false)
    expect(isPlausibleFrame(ending(6, 40))).toBe(false)
    expect(isPlausibleFrame(ending(76, 90))).toBe(false)
    expect(isPlausibleFrame(frame.subarray(0, 14))).toBe(false)
    expect(isPlausibleFrame(ending(69, 71))).toBe(true)
  })
})
