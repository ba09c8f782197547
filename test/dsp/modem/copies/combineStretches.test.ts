// What is made of kept stretches: which are tried together, what is kept and let go, and what no copy may contradict.
import { describe, expect, it } from 'vitest'
import { type CopyCombiner, createCopyCombiner } from '../../../../dsp/modem/copies/combine.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { hex, testFrame } from '../receiving.js'
import { type Copy, invertedTones, stretchOf, tonesOfFrames } from './stretches.js'

const frame = testFrame(10, seededRandom(3))
const tones = tonesOfFrames([frame])
/** Of the same tones, with a wrong check sequence in each. */
const damaged = tones.map((tone, k) => (k === 100 ? 1 - tone : tone))
/** Minutes apart: no two of them are heard at the same time. */
const at = (minute: number): number => 720_000 * minute
const combiner = (level: 'careful' | 'eager' = 'careful'): CopyCombiner =>
  createCopyCombiner(level)!
const random = seededRandom(9)
const noise = (count: number): Uint8Array =>
  Uint8Array.from({ length: count }, () => (random() < 0.5 ? 1 : 0))

it('without repair nothing is combined', () => {
  expect(createCopyCombiner('none')).toBeUndefined()
})

describe('two copies of a frame', () => {
  it('give it, where the later one stands', () => {
    const copies = combiner()
    expect(copies.take(stretchOf({ tones, startSample: at(1) }))).toEqual([])
    expect(copies.take(stretchOf({ tones, startSample: at(2) }))).toEqual([
      {
        ...{ octets: frame, precedingFlags: 2, repairedBits: 1, copies: 2 },
        // Its second flag of eight symbols opens it; the last flag but one closes it.
        ...{ startSample: at(2) + 80, endSample: at(2) + 10 * (tones.length - 8) },
      },
    ])
    expect(copies.counters).toEqual({ stretches: 2, joint: 1, tries: 1, contradicted: 0 })
  })

  it('need not begin at the same symbol, nor with the same tone', () => {
    const longer = tonesOfFrames([frame], 4)
    for (const [first, second] of [
      [longer, tones],
      [tones, longer],
      [longer, invertedTones(tones)],
      [invertedTones(tones), longer],
      [tones, longer.subarray(0, -8)],
    ] as const) {
      const copies = combiner()
      copies.take(stretchOf({ tones: first, startSample: at(1) }))
      const [found] = copies.take(stretchOf({ tones: second, startSample: at(2) }))
      expect(hex(found!.octets)).toBe(hex(frame))
      const before = second.length > tones.length ? 16 : 0
      expect(found!.startSample).toBe(at(2) + 10 * (8 + before))
    }
  })

  it('are let go with the frame, others are not', () => {
    const other = tonesOfFrames([testFrame(12, seededRandom(5))])
    const copies = combiner()
    copies.take(stretchOf({ tones: other, startSample: at(1) }))
    copies.take(stretchOf({ tones, startSample: at(2) }))
    expect(copies.take(stretchOf({ tones, startSample: at(3) }))).toHaveLength(1)
    expect(copies.take(stretchOf({ tones: other, startSample: at(4) }))).toHaveLength(1)
  })

  it('three of them need as many symbols in common', () => {
    const copies = combiner()
    const long = noise(400)
    copies.take(stretchOf({ tones: long.slice(0, 210), startSample: at(1) }))
    copies.take(stretchOf({ tones: long.slice(200), startSample: at(2) }))
    copies.take(stretchOf({ tones: long, startSample: at(3) }))
    // With the one and with the other, but not with both.
    expect(copies.counters.joint).toBe(2)
  })

  it('are let go with the frame: a third one is held against nothing', () => {
    const copies = combiner()
    copies.take(stretchOf({ tones, startSample: at(1) }))
    copies.take(stretchOf({ tones, startSample: at(2) }))
    expect(copies.take(stretchOf({ tones, startSample: at(3) }))).toEqual([])
    expect(copies.counters.joint).toBe(1)
    expect(copies.take(stretchOf({ tones, startSample: at(4) }))).toHaveLength(1)
  })

  it.each([
    [150, 1],
    [149, 0],
  ])('that have %i symbols in common are decided %i times', (common, joint) => {
    const copies = combiner()
    const long = noise(400)
    copies.take(stretchOf({ tones: long, startSample: at(1) }))
    copies.take(stretchOf({ tones: long.slice(400 - common), startSample: at(2) }))
    expect(copies.counters.joint).toBe(joint)
  })
})

/** What is made of two copies with doubtful places each. */
function combined(first: Copy['doubts'], second: Copy['doubts'], level?: 'careful' | 'eager') {
  const copies = combiner(level)
  copies.take(stretchOf({ tones, doubts: first ?? [], startSample: at(1) }))
  const found = copies.take(stretchOf({ tones, doubts: second ?? [], startSample: at(2) }))
  const right = found.filter(({ octets }) => hex(octets) === hex(frame))
  expect(right).toHaveLength(found.length)
  return {
    repairedBits: found.map((one) => one.repairedBits),
    contradicted: copies.counters.contradicted,
  }
}

describe('places of which both copies would have the wrong order of tones', () => {
  it.each([
    [0.6, [1], [1]],
    [0.61, [], [1]],
    [0.62, [], []],
  ])('are put right where that costs 12, or 14 at most: a share of %f', (share, careful, eager) => {
    const doubts = [[101, share]] as const
    expect(combined(doubts, doubts, 'careful')).toEqual({ repairedBits: careful, contradicted: 0 })
    expect(combined(doubts, doubts, 'eager')).toEqual({ repairedBits: eager, contradicted: 0 })
  })

  // All of them are wrong: of 2^n paths the right one comes last.
  it.each([
    [2, [2], [2]],
    [4, [4], [4]],
    [5, [], [5]],
  ])('%i of them: 16 paths are tried, or 32', (count, careful, eager) => {
    const doubts = [62, 81, 101, 122, 143].slice(0, count).map((k) => [k, 0.51] as const)
    expect(combined(doubts, doubts, 'careful').repairedBits).toEqual(careful)
    expect(combined(doubts, doubts, 'eager').repairedBits).toEqual(eager)
  })
})

describe('what one copy has against the other', () => {
  // Their limits are 30 anywhere and 10 in the check sequence, which begins at 216 with what reaches it.
  it.each([
    ['in its content', 101, 0.7, 0.72],
    ['right before the check sequence', 213, 0.68, 0.74],
    ['in the check sequence', 226, 0.62, 0.64],
  ])('%s: a little is believed, more is a contradiction', (_where, place, little, more) => {
    const believed = { repairedBits: [1], contradicted: 0 }
    expect(combined([], [[place, little]])).toEqual(believed)
    expect(combined([[place, little]], [])).toEqual(believed)
    const contradicted = { repairedBits: [], contradicted: 1 }
    expect(combined([], [[place, more]])).toEqual(contradicted)
    expect(combined([[place, more]], [])).toEqual(contradicted)
  })

  it.each([
    [122, 1],
    [126, 0],
  ])('adds up within 24 symbols: at 101 and %i, %i', (second, contradicted) => {
    const doubts = [101, second].map((k) => [k, 0.67] as const)
    expect(combined([], doubts).contradicted).toBe(contradicted)
    expect(combined([], doubts).repairedBits).toHaveLength(1 - contradicted)
  })

  it('counts as much as its symbols are trusted', () => {
    const weights = new Float32Array(tones.length).fill(1)
    weights.fill(0, 99, 105)
    const copies = combiner()
    copies.take(stretchOf({ tones, startSample: at(1) }))
    const doubtful = stretchOf({ tones, doubts: [[101, 0.9]], weights, startSample: at(2) })
    expect(copies.take(doubtful)).toHaveLength(1)
  })
})

describe('what is tried with a new stretch', () => {
  const tries = (level: 'careful' | 'eager', kept: number): number => {
    const copies = combiner(level)
    for (let n = 0; n < kept; n++) {
      // Each is another frame to the last bit: nothing comes of two of them.
      const own = damaged.map((tone, k) => (k === 110 + 3 * n ? 1 - tone : tone))
      copies.take(stretchOf({ tones: own, startSample: at(n) }))
    }
    const before = copies.counters.joint
    expect(copies.take(stretchOf({ tones: damaged, startSample: at(kept) }))).toEqual([])
    return copies.counters.joint - before
  }

  it.each([
    ['careful', 0, 0],
    ['careful', 1, 1],
    ['careful', 2, 3],
    // with one, with two, and with two others alone
    ['careful', 3, 4],
    ['careful', 4, 4],
    // with one, two and three, and with the four others
    ['eager', 3, 5],
    ['eager', 5, 7],
    ['eager', 6, 8],
    ['eager', 7, 8],
  ] as const)('%s, %i like it: %i joint decisions', (level, kept, joint) => {
    expect(tries(level, kept)).toBe(joint)
  })
})

describe('kept are', () => {
  /** @returns whether the stretch is still there after those */
  const isStillThere = (others: readonly Uint8Array[]): boolean => {
    const copies = combiner()
    copies.take(stretchOf({ tones, startSample: at(1) }))
    others.forEach((one, n) => {
      expect(copies.take(stretchOf({ tones: one, startSample: at(2 + n) }))).toEqual([])
    })
    return copies.take(stretchOf({ tones, startSample: at(100) })).length > 0
  }

  it('32 stretches', () => {
    const others = Array.from({ length: 32 }, () => noise(150))
    expect(isStillThere(others.slice(1))).toBe(true)
    expect(isStillThere(others)).toBe(false)
  })

  it('48,000 symbols in all of them', () => {
    const rest = 48_000 - tones.length
    const others = Array.from({ length: 14 }, () => noise(3300))
    const last = rest - 14 * 3300
    expect(last).toBeGreaterThan(150)
    expect(isStillThere([...others, noise(last)])).toBe(true)
    expect(isStillThere([...others, noise(last + 1)])).toBe(false)
  })
})

describe('frames that are not the same', () => {
  it('but for a digit give neither of them', () => {
    const other = frame.slice()
    other[20]! ^= 1
    const copies = combiner('eager')
    copies.take(stretchOf({ tones, startSample: at(1) }))
    const twice = stretchOf({ tones: tonesOfFrames([other]), amplitude: 3, startSample: at(2) })
    expect(copies.take(twice)).toEqual([])
    expect(copies.counters).toMatchObject({ joint: 1, contradicted: 1 })
    // Both are kept: the second copy of either is read.
    const [found] = copies.take(stretchOf({ tones, startSample: at(3) }))
    expect(hex(found!.octets)).toBe(hex(frame))
  })

  it('odd content with a right check sequence is none', () => {
    const odd = tonesOfFrames([frame.map((octet, n) => (n === 0 ? 0x02 : octet))])
    const copies = combiner()
    copies.take(stretchOf({ tones: odd, startSample: at(1) }))
    expect(copies.take(stretchOf({ tones: odd, startSample: at(2) }))).toEqual([])
    expect(copies.counters.contradicted).toBe(0)
  })
})
