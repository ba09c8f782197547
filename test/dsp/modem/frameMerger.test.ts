import { describe, expect, it } from 'vitest'
import type { CandidateFrame } from '../../../dsp/modem/detector.js'
import { createFrameMerger } from '../../../dsp/modem/frameMerger.js'

const hold = 240
const candidate = (startSample: number, endSample: number, more: Partial<CandidateFrame> = {}) => ({
  octets: Uint8Array.of(1, 2, 3),
  startSample,
  endSample,
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
      { startSample: 1002, endSample: 3002, votes: 2, precedingFlags: 9, detector: 'a' },
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
    expect(merger.take(Number.POSITIVE_INFINITY).map((frame) => frame.startSample)).toEqual([
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
        merger.damaged({ startSample: start + time, endSample: end - time })
    }
    damaged(1000, 3000, 5)
    damaged(5000, 7000, 2)
    damaged(9000, 11_000, 4)
    merger.frame(candidate(9500, 10_900))
    merger.take(Number.POSITIVE_INFINITY)
    expect(merger.damagedCount).toBe(1)
  })
})
