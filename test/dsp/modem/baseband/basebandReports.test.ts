// What is handed out of bits that are found, and when: places and figures come from a stream that is written by hand.
import { describe, expect, it } from 'vitest'
import type { HdlcSegment } from '../../../../dsp/framing/hdlcDecoder.js'
import { measureBaseband } from '../../../../dsp/modem/baseband/basebandQuality.js'
import {
  createBasebandReports,
  type FoundBits,
} from '../../../../dsp/modem/baseband/basebandReports.js'
import { bitCapacity } from '../../../../dsp/modem/baseband/bits.js'
import { createClippingLog } from '../../../../dsp/modem/frontEnd/clippingLog.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { testFrame } from '../receiving.js'
import { type ByHand, streamByHand } from './streamByHand.js'

const octets = testFrame(4, seededRandom(1))
const octetsWithFcs = Uint8Array.of(...octets, 0x12, 0x34)
/** Its two values are in the bits that are read below. */
const bitAt = (bit: number): number => (bit % 7 < 3 ? 1 : 0)
const byHand: ByHand = {
  valueAt: (bit) => (bitAt(bit) === 1 ? 0.7 : -0.5) + 0.01 * (bit % 5),
  filtered: (position) => 0.1 * Math.sin(position),
}

const segmentOf = (start: number, end: number, precedingFlags = 3): HdlcSegment => ({
  ...{ octetsWithFcs, fcsRight: true, start, end, precedingFlags },
})
const found = (start: number, end: number, more: Partial<FoundBits> = {}): FoundBits => ({
  ...{ segment: segmentOf(start, end), firstBit: 0, bitAt, repairedBits: 0, ...more },
})

function bench({ count = 4000, inputPerWorking = 1, clipped = [] as number[], own = byHand } = {}) {
  const stream = streamByHand(count, own)
  const clipping = createClippingLog(100_000)
  const input = new Float32Array(50_000)
  for (const cell of clipped) input.fill(1, 64 * cell, 64 * cell + 64)
  clipping.append(input)
  return { stream, reports: createBasebandReports(stream, clipping, inputPerWorking) }
}

/** Whole: of bits from one on. */
const measured = (stream: ReturnType<typeof bench>['stream'], from: number, to: number) =>
  measureBaseband(
    stream,
    from,
    Uint8Array.from({ length: to - from }, (_, at) => bitAt(from + at)),
  )

describe('a frame', () => {
  it('is handed out once, without its FCS, with its place in the input and what was measured', () => {
    // Bits 640 to 1280 last from sample 3200 to 6400, which are cells 50 to 100: five of 50 are clipped.
    const { stream, reports } = bench({ clipped: [49, 50, 60, 70, 80, 99, 100] })
    reports.frame(found(640, 1280, { code: { kind: 'FX.25', correctedOctets: 3 } }))
    expect(reports.take()).toEqual([
      {
        ...{ octets, firstSample: 3200, lastSample: 6400, detector: 'baseband', repairedBits: 0 },
        code: { kind: 'FX.25', correctedOctets: 3 },
        quality: {
          ...measured(stream, 640, 1280),
          ...{ clippedShare: 5 / 50, preambleFlags: 3, bitRate: 9600 },
        },
      },
    ])
    expect(reports.take()).toEqual([])
    expect(reports.counters).toEqual({ frames: 1, repaired: 0, fcsRejected: 0, implausible: 0 })
  })

  it('is told where it lies by the bit that its places count from, and in samples of the input', () => {
    const { stream, reports } = bench({ inputPerWorking: 2.5 })
    reports.frame(found(101, 301, { firstBit: 500, repairedBits: 2 }))
    const [frame] = reports.take()
    // Bit 601 at 3005 and bit 801 at 4005 of the working rate.
    expect(frame).toMatchObject({ firstSample: 7513, lastSample: 10_013, repairedBits: 2 })
    expect(frame!.quality).toMatchObject(measured(stream, 601, 801))
    expect(reports.counters).toMatchObject({ frames: 1, repaired: 1 })
  })

  it('never begins before the first sample', () => {
    const { reports } = bench({ own: { ...byHand, positionAt: (bit) => 5 * bit - 100 } })
    reports.frame(found(10, 500))
    expect(reports.take()[0]).toMatchObject({ firstSample: 0, lastSample: 2400 })
  })

  it('several come in their order', () => {
    const { reports } = bench()
    for (const end of [500, 900, 1300]) reports.frame(found(end - 300, end))
    expect(reports.take().map(({ lastSample }) => lastSample)).toEqual([2500, 4500, 6500])
  })

  it.each([
    [899, 1],
    [900, 1],
    [901, 2],
  ])('that ends at bit %i, behind one that ended at 900, makes %i', (end, count) => {
    const { reports } = bench()
    reports.frame(found(500, 900))
    reports.frame(found(500, end, { repairedBits: 1 }))
    expect(reports.take()).toHaveLength(count)
    expect(reports.counters).toMatchObject({ frames: count, repaired: count - 1 })
  })

  it('may be the first of all', () => {
    const { reports } = bench()
    reports.frame(found(0, 200))
    expect(reports.take()[0]).toMatchObject({ firstSample: 0, lastSample: 1000 })
  })

  it('without an address is counted, and does not stand in the way of one', () => {
    const { reports } = bench()
    const segment = { ...segmentOf(500, 900), octetsWithFcs: new Uint8Array(30).fill(0x33) }
    reports.frame(found(500, 900, { segment, repairedBits: 1 }))
    expect(reports.take()).toEqual([])
    expect(reports.counters).toEqual({ frames: 0, repaired: 0, fcsRejected: 0, implausible: 1 })
    reports.frame(found(500, 900))
    expect(reports.take()).toHaveLength(1)
  })
})

describe('a frame of more than 2000 bits', () => {
  /** Further back than the ring reaches all is gone. */
  const count = bitCapacity + 3000

  it('is measured by its last 2000', () => {
    const { stream, reports } = bench({ count })
    const asked: number[] = []
    const noting = (bit: number): number => {
      asked.push(bit)
      return bitAt(bit)
    }
    reports.frame(found(4000, 6001, { bitAt: noting }))
    expect(reports.take()[0]!.quality).toMatchObject(measured(stream, 4001, 6001))
    expect([asked[0], asked.at(-1), asked.length]).toEqual([4001, 6000, 2000])
  })

  it('begins where it would if its bits before them had lasted five samples each', () => {
    // What is kept has a clock that is slow by a tenth.
    const own = { ...byHand, positionAt: (bit: number) => 5.5 * bit }
    const { reports } = bench({ count, own })
    reports.frame(found(1000, 9000))
    expect(reports.take()[0]).toMatchObject({
      firstSample: 5.5 * 7000 - 5 * 6000,
      lastSample: 5.5 * 9000,
    })
  })
})

describe('a damaged one', () => {
  it('is told with its place, its level and its balance', () => {
    const { stream, reports } = bench({ inputPerWorking: 2 })
    const { levelDbfs, toneBalanceDb } = measured(stream, 640, 1280)
    reports.damaged(640, 1280, bitAt)
    expect(reports.takeDamaged()).toEqual([
      { firstSample: 6400, lastSample: 12_800, at9600: { levelDbfs, toneBalanceDb } },
    ])
    expect(reports.takeDamaged()).toEqual([])
    expect(reports.take()).toEqual([])
    expect(reports.counters).toEqual({ frames: 0, repaired: 0, fcsRejected: 1, implausible: 0 })
  })

  // A flag between the two is one that noise may have made: the search tries what stands on both sides of it as one, too.
  it('is told once, however it is cut', () => {
    const { reports } = bench()
    reports.damaged(640, 1280, bitAt)
    reports.damaged(1288, 2000, bitAt)
    reports.damaged(640, 2000, bitAt)
    reports.damaged(1999, 2600, bitAt)
    expect(reports.counters.fcsRejected).toBe(2)
    reports.damaged(2000, 2600, bitAt)
    expect(reports.takeDamaged().map(({ firstSample }) => firstSample)).toEqual([
      3200, 6440, 10_000,
    ])
    expect(reports.counters.fcsRejected).toBe(3)
  })

  it.each([32, 33, 40])('of %i the latest 32 are kept, and all are counted', (all) => {
    const { reports } = bench()
    for (let n = 0; n < all; n++) reports.damaged(100 + 50 * n, 150 + 50 * n, bitAt)
    const kept = reports.takeDamaged()
    expect(kept.map(({ firstSample }) => firstSample)).toEqual(
      Array.from({ length: 32 }, (_, n) => 5 * (100 + 50 * (all - 32 + n))),
    )
    expect(reports.counters.fcsRejected).toBe(all)
  })
})
