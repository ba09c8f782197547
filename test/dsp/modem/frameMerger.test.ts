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

const forever = Number.POSITIVE_INFINITY
/** Frames of other content than the usual one. */
const other = (n: number): Uint8Array => Uint8Array.of(9, n & 255, n >> 8)
const starts = (frames: readonly { startSample: number }[]): number[] =>
  frames.map(({ startSample }) => startSample)

describe('merger: when frames come out', () => {
  it('at the end of the time that detectors have, not a sample before, once', () => {
    const merger = createFrameMerger(hold)
    merger.frame(candidate(1000, 3000))
    expect(merger.take(3239)).toEqual([])
    expect(starts(merger.take(3240))).toEqual([1000])
    expect(merger.take(3240)).toEqual([])
    expect(merger.take(forever)).toEqual([])
  })

  it('in order of their ends, whichever was reported first', () => {
    const merger = createFrameMerger(hold)
    merger.frame(candidate(5000, 9000, { octets: other(1) }))
    merger.frame(candidate(1000, 3000, { octets: other(2) }))
    merger.frame(candidate(3000, 5000, { octets: other(3) }))
    expect(starts(merger.take(forever))).toEqual([1000, 3000, 5000])
  })

  it.each([
    ['is remembered for 200,000 samples', 202_999, [300_000]],
    ['is forgotten after them', 203_000, [1000, 300_000]],
  ])('what came out %s', (_what, position, expected) => {
    const merger = createFrameMerger(hold)
    merger.frame(candidate(1000, 3000))
    merger.take(4000)
    merger.frame(candidate(300_000, 302_000, { octets: other(1) }))
    merger.take(position)
    merger.frame(candidate(1000, 3000))
    expect(starts(merger.take(forever))).toEqual(expected)
  })

  it('what cannot be believed is dropped, and counts afresh when it is reported again', () => {
    const merger = createFrameMerger(hold, ({ votes }) => votes >= 2)
    merger.frame(candidate(1000, 3000))
    expect(merger.take(4000)).toEqual([])
    merger.frame(candidate(1000, 3000))
    expect(merger.take(4000)).toEqual([])
    merger.frame(candidate(1000, 3000))
    merger.frame(candidate(1000, 3000))
    expect(merger.take(4000)).toMatchObject([{ startSample: 1000, votes: 2 }])
  })

  it('256 of them wait at once, no more', () => {
    const merger = createFrameMerger(hold)
    for (let n = 0; n < 257; n++) merger.frame(candidate(0, 2000, { octets: other(n) }))
    const frames = merger.take(forever)
    expect(frames).toHaveLength(256)
    expect(frames.at(-1)!.octets).toEqual(other(255))
  })
})

describe('merger: what is one frame', () => {
  // More than half of the shorter one's time in common.
  it.each([
    ['half of the time in common', [1000, 3000], [2000, 4000], 2],
    ['a sample more', [1000, 3000], [1999, 3999], 1],
    ['a short one within a long one that was there first', [500, 4000], [1000, 2000], 1],
    ['a long one around a short one that was there first', [1000, 2000], [500, 4000], 1],
  ] as const)('%s', (_what, first, second, count) => {
    const merger = createFrameMerger(hold)
    merger.frame(candidate(first[0], first[1]))
    merger.frame(candidate(second[0], second[1]))
    expect(merger.take(forever)).toHaveLength(count)
  })

  it.each([
    ['the last octet', [1, 2, 4]],
    ['one octet more', [1, 2, 3, 4]],
    ['one octet less', [1, 2]],
  ])('%s makes another frame of it', (_what, octets) => {
    const merger = createFrameMerger(hold)
    merger.frame(candidate(1000, 3000))
    merger.frame(candidate(1000, 3000, { octets: Uint8Array.from(octets) }))
    expect(merger.take(forever).map((frame) => [...frame.octets])).toEqual([[1, 2, 3], octets])
  })

  it.each([
    ['first', 0],
    ['last', 1],
  ])('the code that it came with is kept where %s report has it', (_which, coded) => {
    const code = { kind: 'FX.25', correctedOctets: 3 } as const
    const merger = createFrameMerger(hold)
    for (const at of [0, 1]) merger.frame(candidate(1000, 3000, at === coded ? { code } : {}))
    expect(merger.take(forever)).toMatchObject([{ votes: 2, code }])
  })
})

describe('merger: which of two readings gives way', () => {
  const [a, b] = [other(1), other(2)]
  const read = (
    ...candidates: readonly { octets: Uint8Array; repairedBits: number; votes?: number }[]
  ): number[] => {
    const merger = createFrameMerger(hold)
    for (const { octets, repairedBits, votes = 1 } of candidates)
      for (let vote = 0; vote < votes; vote++)
        merger.frame(candidate(1000, 3000, { octets, repairedBits }))
    return merger.take(forever).map(({ octets }) => octets[1]!)
  }

  it('none of two that were right as heard, however many detectors agree on either', () => {
    expect(read({ octets: a, repairedBits: 0 }, { octets: b, repairedBits: 0, votes: 3 })).toEqual([
      1, 2,
    ])
  })

  it('that which needed more repair, although more detectors agree on it', () => {
    expect(read({ octets: a, repairedBits: 1 }, { octets: b, repairedBits: 2, votes: 3 })).toEqual([
      1,
    ])
  })

  it('of equal repair that on which fewer agree, and none where as many do', () => {
    expect(read({ octets: a, repairedBits: 1 }, { octets: b, repairedBits: 1, votes: 2 })).toEqual([
      2,
    ])
    expect(read({ octets: a, repairedBits: 1 }, { octets: b, repairedBits: 1 })).toEqual([1, 2])
  })

  it.each([
    [160, 2],
    [161, 1],
  ])('two that have %i samples in common: %i stand, as flags may be shared', (common, count) => {
    const merger = createFrameMerger(hold)
    merger.frame(candidate(1000, 3000, { octets: a, repairedBits: 1 }))
    merger.frame(candidate(3000 - common, 5000, { octets: b }))
    expect(merger.take(forever)).toHaveLength(count)
  })

  it('to one that still waits, and to one that came out before', () => {
    const merger = createFrameMerger(hold)
    merger.frame(candidate(1000, 3000, { octets: a, repairedBits: 1 }))
    merger.frame(candidate(1000, 3300, { octets: b }))
    expect(merger.take(3240)).toEqual([])
    expect(starts(merger.take(3540))).toEqual([1000])
    merger.frame(candidate(1200, 3400, { octets: a, repairedBits: 1 }))
    expect(merger.take(forever)).toEqual([])
  })
})

describe('merger: damage', () => {
  const damage = (...segments: readonly (readonly [number, number, number?])[]) => {
    const merger = createFrameMerger(hold)
    for (const [startSample, endSample, votes = 3] of segments)
      merger.damaged({ startSample, endSample, votes })
    return merger
  }
  const places = (merger: ReturnType<typeof createFrameMerger>): number[][] =>
    merger.takeDamaged().map(({ startSample, endSample }) => [startSample, endSample])

  it('counts when no detector can report any more, once, and says where', () => {
    const merger = damage([1000, 3000])
    expect(merger.takeDamaged()).toEqual([])
    merger.take(3239)
    expect(merger.damagedCount).toBe(0)
    merger.take(3240)
    expect(merger.damagedCount).toBe(1)
    merger.take(forever)
    expect(merger.damagedCount).toBe(1)
    expect(places(merger)).toEqual([[1000, 3000]])
    expect(merger.takeDamaged()).toEqual([])
  })

  it('needs three reports, one of which may count for several', () => {
    const merger = createFrameMerger(hold)
    const report = (startSample: number, times: number, votes?: number): void => {
      for (let time = 0; time < times; time++)
        merger.damaged({
          ...{ startSample, endSample: startSample + 2000 },
          ...(votes === undefined ? {} : { votes }),
        })
    }
    report(1000, 2)
    report(4000, 3)
    report(7000, 1, 2)
    report(10_000, 1, 3)
    report(13_000, 1, 1)
    report(13_000, 1, 2)
    merger.take(forever)
    expect(starts(merger.takeDamaged())).toEqual([4000, 10_000, 13_000])
  })

  it.each([
    ['begin within a symbol', [1010, 3000], 1],
    ['begin farther apart', [1011, 3000], 0],
    ['end within a symbol', [1000, 2990], 1],
    ['end farther apart', [1000, 2989], 0],
  ] as const)('reports that %s', (_what, [start, end], count) => {
    const merger = damage([1000, 3000, 1], [start, end, 2])
    merger.take(forever)
    expect(merger.damagedCount).toBe(count)
  })

  it('of two segments in one place that stands on which more agree', () => {
    const merger = damage([1000, 3000, 3], [1100, 3100, 4], [1200, 3200, 3])
    merger.take(forever)
    expect(places(merger)).toEqual([[1100, 3100]])
  })

  it.each([
    [160, 2],
    [161, 1],
  ])('of two that have %i samples in common %i count', (common, count) => {
    const merger = damage([1000, 3000], [3000 - common, 5000])
    merger.take(forever)
    expect(merger.damagedCount).toBe(count)
  })

  it.each([
    [160, 1],
    [161, 0],
  ])('with %i samples in common with a frame %i count', (common, count) => {
    const merger = damage([1000, 3000])
    merger.frame(candidate(3000 - common, 5000))
    merger.take(forever)
    expect(merger.damagedCount).toBe(count)
  })

  it('a segment around a frame that came out before is explained by it, also at the end of the stream', () => {
    for (const position of [5000, forever]) {
      const merger = damage([1000, 4000])
      merger.frame(candidate(1500, 3000))
      expect(merger.take(3500)).toHaveLength(1)
      merger.take(position)
      expect(merger.damagedCount).toBe(0)
    }
  })

  it('256 segments wait at once, and the latest 32 places are kept', () => {
    const merger = damage(
      ...Array.from({ length: 257 }, (_, n) => [1000 * n, 1000 * n + 900] as const),
    )
    merger.take(forever)
    expect(merger.damagedCount).toBe(256)
    const kept = starts(merger.takeDamaged())
    expect(kept).toHaveLength(32)
    expect([kept[0], kept.at(-1)]).toEqual([224_000, 255_000])
    merger.damaged({ startSample: 400_000, endSample: 402_000, votes: 3 })
    merger.take(forever)
    merger.damaged({ startSample: 500_000, endSample: 502_000, votes: 3 })
    merger.take(forever)
    expect(starts(merger.takeDamaged())).toEqual([400_000, 500_000])
  })
})

describe('merger: damage where check octets follow', () => {
  const span = { startSample: 1000, endSample: 9000 }
  const waiting = (start: number, end: number) => {
    const merger = createFrameMerger(hold)
    merger.expect(span)
    merger.damaged({ startSample: start, endSample: end, votes: 3 })
    return merger
  }

  it('waits for 6,000 samples after their end', () => {
    const merger = waiting(2000, 4000)
    merger.take(14_999)
    expect(merger.damagedCount).toBe(0)
    merger.take(15_000)
    expect(merger.damagedCount).toBe(1)
  })

  it.each([
    [160, 1],
    [161, 0],
  ])('with %i samples in common, %i counts before', (common, count) => {
    const merger = waiting(9000 - common, 10_000)
    merger.take(10_240)
    expect(merger.damagedCount).toBe(count)
  })

  it.each([
    ['is explained by a frame among them', [[1500, 2000]], 0],
    [
      'and by one of several',
      [
        [1500, 2000],
        [20_000, 22_000],
      ],
      0,
    ],
    ['not by one that ends where they begin', [[500, 1000]], 1],
  ] as const)('%s', (_what, frames, count) => {
    const merger = waiting(3000, 4000)
    for (const [start, end] of frames) merger.frame(candidate(start, end))
    merger.take(15_000)
    expect(merger.damagedCount).toBe(count)
  })

  it.each([
    ['before they are over is explained by a frame among them', 14_999, 0],
    ['afterwards counts', 15_000, 1],
  ])('damage that is reported %s', (_what, position, count) => {
    const merger = waiting(3000, 4000)
    merger.frame(candidate(1500, 2000))
    merger.take(12_000)
    merger.take(position)
    merger.damaged({ startSample: 5000, endSample: 7000, votes: 3 })
    merger.take(forever)
    expect(merger.damagedCount).toBe(count)
  })

  it.each([
    [3, 0],
    [4, 1],
  ])(
    'with %i stretches after it, %i of the first one counts: four may be under way',
    (more, count) => {
      const merger = waiting(2000, 4000)
      for (let n = 1; n <= more; n++)
        merger.expect({ startSample: 10_000 * n + 1000, endSample: 10_000 * n + 9000 })
      merger.take(5000)
      expect(merger.damagedCount).toBe(count)
    },
  )
})
