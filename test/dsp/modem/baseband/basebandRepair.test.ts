// Frames out of bits that were decided wrongly: weak ones, written into a stream by hand, whose cost the second look tells.
import { describe, expect, it } from 'vitest'
import { createBasebandRepair, halfBits } from '../../../../dsp/modem/baseband/basebandRepair.js'
import { bitCapacity, bitMask } from '../../../../dsp/modem/baseband/bits.js'
import { refine } from '../../../../dsp/modem/baseband/refine.js'
import type { RepairLevel } from '../../../../dsp/modem/receivedFrame.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { hex, testFrame } from '../receiving.js'
import { sentLevels, streamByHand } from './streamByHand.js'

const frame = testFrame(20, seededRandom(3))
const sent = sentLevels([frame])

/**
 * @param weak by bit, what stands there instead of a height of 1 on the bit's side; below 0 on the other side
 * @param noise how far all others are from 1, at most
 * @param first bit of the stream that the first one is
 */
function heard(weak: ReadonlyMap<number, number>, levels = sent, noise = 0, first = 0) {
  const random = seededRandom(6)
  const values = Array.from(levels, (bit, at) => {
    const strength = 1 + noise * (2 * random() - 1)
    return (2 * bit - 1) * (weak.get(at) ?? strength)
  })
  const end = first + levels.length
  const stream = streamByHand(end, { valueAt: (bit) => values[bit - first] ?? 0 })
  const decided = new Uint8Array(bitCapacity)
  const guess = Uint8Array.from(values, (value) => (value > 0 ? 1 : 0))
  guess.forEach((bit, at) => {
    decided[(first + at) & bitMask] = bit
  })
  const attempt = (repair: RepairLevel) =>
    createBasebandRepair(stream, decided, repair).attempt(first, end)
  /** What it would cost to turn bits round, and how many others cost less: known by the second bit behind each. */
  const departing = (...bits: number[]) => {
    const { departures } = refine(halfBits(stream, first, levels.length), guess)
    const ranks = bits.map((bit) => departures.findIndex((one) => one.bit === bit + 2))
    return { ranks, cost: ranks.reduce((sum, rank) => sum + departures[rank]!.cost, 0) }
  }
  return { stream, decided, attempt, departing }
}

const octetsOf = (found: ReturnType<ReturnType<typeof heard>['attempt']>): string[] =>
  found.map(({ segment }) => hex(segment.octetsWithFcs.slice(0, -2)))

describe('outputs of the filter', () => {
  it('are those at the middles as they were, and all others as they stand half a bit apart', () => {
    const stream = streamByHand(20, {
      ...{ valueAt: (bit) => -bit, filtered: (position) => 1000 + position },
      positionAt: (bit) => 5.5 * bit,
    })
    // Bit 3 lies at 16.5, bit 4 at 22.
    expect([...halfBits(stream, 3, 2)]).toEqual([
      ...[1004, 1006.5, 1009, 1011.5, 1014],
      ...[-3, 1019, -4, 1024.5],
      ...[1027, 1029.5, 1032, 1034.5, 1037],
    ])
  })

  it('come from where the ring begins anew', () => {
    const stream = streamByHand(bitCapacity + 3, { valueAt: (bit) => bit, filtered: (at) => at })
    const values = [...halfBits(stream, bitCapacity - 1, 3)]
    const first = 5 * (bitCapacity - 1)
    expect(values.slice(5, 11)).toEqual([
      ...[bitCapacity - 1, first + 2.5, bitCapacity],
      ...[first + 7.5, bitCapacity + 1, first + 12.5],
    ])
    expect(values.slice(0, 2)).toEqual([first - 12.5, first - 10])
    expect(values.slice(-2)).toEqual([first + 22.5, first + 25])
  })
})

describe('the likeliest way', () => {
  it('is enough where the first decision was wrong: nothing counts as repaired', () => {
    const { decided, attempt } = heard(new Map())
    decided[200]! ^= 1
    decided[230]! ^= 1
    // Behind 12 flags of fill the opening one begins at bit 96.
    const found = attempt('none')
    expect(octetsOf(found)).toEqual([hex(frame)])
    const [{ segment, repairedBits, bits }] = found as [(typeof found)[number]]
    expect(repairedBits).toBe(0)
    expect(bits).toEqual(sent)
    expect(segment).toMatchObject({ fcsRight: true, start: 96, precedingFlags: 12 })
    // Behind it 6 flags of fill.
    expect(segment.end).toBe(sent.length - 48)
  })

  it('gives all frames in it, wherever it lies in the ring', () => {
    const other = testFrame(5, seededRandom(9))
    const levels = sentLevels([frame, other])
    for (const first of [0, 1000, bitCapacity - 100]) {
      const { attempt } = heard(new Map(), levels, 0, first)
      expect(octetsOf(attempt('none'))).toEqual([hex(frame), hex(other)])
    }
  })

  it('of what is no frame gives nothing', () => {
    const odd = frame.slice()
    // Control characters in a text.
    odd.fill(2, 20)
    expect(heard(new Map(), sentLevels([odd])).attempt('eager')).toEqual([])
  })

  it('is gone by anew each time', () => {
    const { stream, decided } = heard(new Map())
    const repair = createBasebandRepair(stream, decided, 'none')
    const whole = repair.attempt(0, sent.length)
    // What breaks off within the frame leaves nothing for the next one to begin with.
    expect(repair.attempt(0, 250)).toEqual([])
    expect(repair.attempt(250, sent.length)).toEqual([])
    expect(repair.attempt(0, sent.length)).toEqual(whole)
  })
})

describe('wrong bits', () => {
  it.each([
    ['one', [210]],
    ['two', [180, 210]],
  ])('%s: put right, and told as so many; not where there is to be no repair', (_what, wrong) => {
    const { attempt } = heard(new Map(wrong.map((bit) => [bit, -0.1])), sent, 0.3)
    for (const repair of ['careful', 'eager'] as const) {
      const found = attempt(repair)
      expect(octetsOf(found)).toEqual([hex(frame)])
      expect(found[0]!.repairedBits).toBe(wrong.length)
      expect(found[0]!.bits).toEqual(sent)
    }
    expect(attempt('none')).toEqual([])
  })

  it('three are not', () => {
    const wrong = [150, 180, 210].map((bit) => [bit, -0.1] as const)
    expect(heard(new Map(wrong), sent, 0.3).attempt('eager')).toEqual([])
  })

  // Stronger ones cost more; all others cost twice as much.
  it.each([
    [13.8, [0.21], true, true],
    [14.4, [0.22], false, true],
    [19.8, [0.315], false, true],
    [20.1, [0.32], false, false],
    [13.6, [0.1, 0.14], true, true],
    [14.2, [0.11, 0.14], false, true],
    [19.1, [0.17, 0.17], false, true],
    [20.3, [0.18, 0.18], false, false],
  ])(
    'at a cost of %f, by %j: careful repair takes it: %s, eager: %s',
    (cost, by, careful, eager) => {
      const wrong = by.map((strength, at) => [210 - 30 * at, -strength] as const).reverse()
      const { attempt, departing } = heard(new Map(wrong), sent, 0.3)
      const departed = departing(...wrong.map(([bit]) => bit))
      expect(departed.ranks).toEqual([...wrong.keys()])
      expect(departed.cost).toBeCloseTo(cost, 0.7)
      expect(attempt('careful')).toHaveLength(careful ? 1 : 0)
      expect(attempt('eager')).toHaveLength(eager ? 1 : 0)
    },
  )
})

describe('among many that are weak', () => {
  const levels = sentLevels([testFrame(90, seededRandom(4))])
  /** Within the frame, each out of the reach of the others' filters; the first are the weakest. */
  const spots = Array.from({ length: 80 }, (_, n) => 120 + 8 * n)
  /** @param wrong by number of the spot, how strong it is on the wrong side */
  const heardWeak = (count: number, wrong: ReadonlyMap<number, number>, noise = 0) => {
    const weak = spots.slice(0, count).map((bit, n) => {
      const strength = wrong.get(n)
      return [bit, strength === undefined ? 0.1 + 0.001 * n : -strength] as const
    })
    return heard(new Map(weak), levels, noise)
  }

  it.each([
    [31, 0.1285, true, true],
    [32, 0.13, false, true],
    [63, 0.156, false, true],
    [64, 0.1565, false, false],
  ])(
    'with %i cheaper ones, by %f: careful repair tries it: %s, eager: %s',
    (rank, strength, careful, eager) => {
      const { attempt, departing } = heardWeak(80, new Map([[40, strength]]))
      expect(departing(spots[40]!).ranks).toEqual([rank])
      expect(attempt('careful')).toHaveLength(careful ? 1 : 0)
      expect(attempt('eager')).toHaveLength(eager ? 1 : 0)
    },
  )

  // Any two cost more than any one; of 20 there are 190 pairs, and 12 or 44 of them are tried. Those with one that is nearly on
  // its own side come before all others.
  it.each([
    [0, 0.06, 1, 0.06, true, true],
    [18, 0.12, 19, 0.12, false, false],
    [0, 0.05, 19, 0.12, false, true],
  ])(
    'two of 20, %i by %f and %i by %f, are tried in order of what both cost: careful %s, eager %s',
    (one, by, other, byOther, careful, eager) => {
      const { attempt, departing } = heardWeak(
        20,
        new Map([
          [one, by],
          [other, byOther],
        ]),
        0.3,
      )
      expect(departing(spots[one]!, spots[other]!).cost).toBeLessThan(14)
      expect(attempt('careful')).toHaveLength(careful ? 1 : 0)
      expect(attempt('eager')).toHaveLength(eager ? 1 : 0)
    },
  )
})
