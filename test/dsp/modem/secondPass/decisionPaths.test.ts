// All that may be decided on, against every sequence of tones that ends where the decision ended.
import { describe, expect, it } from 'vitest'
import {
  createDecisionRecord,
  decideWithDepartures,
  type Path,
  runJointTrellis,
  runTrellis,
  tracePath,
  visitPaths,
} from '../../../../dsp/modem/secondPass/decision.js'
import { type Burst, createBurst } from '../../../../dsp/modem/secondPass/model.js'
import { burstOf, likelihoodOf, spaceTurnRadians } from '../burstByHand.js'

const decided = [1, 0, 1, 0, 1, 1, 0, 1, 0, 0]
const count = decided.length
const reach = 3
const inverted = (tones: readonly number[]): number[] => tones.map((tone) => 1 - tone)

const allSequences = Array.from({ length: 2 ** count }, (_, bits) =>
  Array.from({ length: count }, (_, k) => (bits >> k) & 1),
)

/** Of a sequence that begins with so many spaces more than decided on; undefined where they become more than three, either way. */
function likelihoodFrom(burst: Burst, tones: readonly number[], start: number): number | undefined {
  let [sum, phase, spacesMore] = [0, 0, start]
  for (let k = 0; k < tones.length; k++) {
    sum += likelihoodOf(burst, k, tones[k]!, phase + spacesMore * spaceTurnRadians)
    if (burst.tones[k] === 0) phase += spaceTurnRadians
    spacesMore += burst.tones[k]! - tones[k]!
    if (Math.abs(spacesMore) > reach) return undefined
  }
  return sum
}

/** Spaces more at the beginning of a sequence that ends with so many. */
const startOf = (tones: readonly number[], end: number): number =>
  tones.reduce((start, tone, k) => start - (decided[k]! - tone), end)

interface Sequence {
  readonly tones: readonly number[]
  readonly end: number
  readonly likelihood: number
}

/** Every sequence from each start, the likeliest first. */
function sequencesOf(likelihood: (tones: readonly number[], start: number) => number | undefined) {
  const all: Sequence[] = []
  for (const tones of allSequences)
    for (let end = -reach; end <= reach; end++) {
      const start = startOf(tones, end)
      const value = Math.abs(start) <= reach ? likelihood(tones, start) : undefined
      if (value !== undefined) all.push({ tones, end, likelihood: value })
    }
  return all.sort((a, b) => b.likelihood - a.likelihood)
}

const sequences = (burst: Burst): Sequence[] =>
  sequencesOf((tones, start) => likelihoodFrom(burst, tones, start))

const visitAll = (
  burst: Burst,
  record: ReturnType<typeof createDecisionRecord>,
  limits: Partial<{ from: number; to: number; pathsMax: number; costMax: number }> = {},
): Path[] => {
  const paths: Path[] = []
  const all = { from: 0, to: count, pathsMax: 5000, costMax: 1000, ...limits }
  visitPaths(burst, record, all, (path) => {
    paths.push(path)
    return true
  })
  return paths
}

describe.each([1, 2, 3])('a burst of noise, seed %i', (seed) => {
  const burst = burstOf(decided, seed)
  const record = createDecisionRecord()
  runTrellis(burst, record)
  const all = sequences(burst)
  const best = all[0]!
  const sameEnd = all.filter(({ end }) => end === best.end)
  const traced = (departures: readonly number[]): number[] => {
    const tones = new Uint8Array(count)
    tracePath(burst, record, departures, tones)
    return [...tones]
  }

  it('the likeliest sequence and its end are found', () => {
    expect(traced([])).toEqual(best.tones)
    expect(record.bestEnd).toBe(best.end + reach)
  })

  it('every sequence with that end is visited once, by its exact cost', () => {
    const paths = visitAll(burst, record)
    expect(paths).toHaveLength(sameEnd.length)
    paths.forEach(({ cost, departures }, at) => {
      const { tones, likelihood } = sameEnd[at]!
      expect(cost).toBeCloseTo(best.likelihood - likelihood, 6)
      expect(traced(departures)).toEqual(tones)
    })
  })

  it('limits leave out what is beyond them and nothing else', () => {
    const paths = visitAll(burst, record)
    for (const pathsMax of [1, 2, 3, 7, 40])
      expect(visitAll(burst, record, { pathsMax })).toEqual(paths.slice(0, pathsMax))
    for (const at of [1, 5, 30]) {
      const costMax = paths[at]!.cost
      expect(visitAll(burst, record, { costMax: costMax + 1e-9 })).toHaveLength(at + 1)
      expect(visitAll(burst, record, { costMax: costMax - 1e-9 })).toHaveLength(at)
    }
    for (const [from, to] of [
      [3, 6],
      [0, 4],
      [5, 20],
      [4, 4],
    ] as const) {
      const within = paths.filter(({ departures }) => departures.every((k) => k >= from && k < to))
      expect(visitAll(burst, record, { from, to })).toEqual(within)
      expect(visitAll(burst, record, { from, to, pathsMax: 6 })).toEqual(within.slice(0, 6))
    }
  })

  it('a visitor may end it', () => {
    let visits = 0
    visitPaths(burst, record, { from: 0, to: count, pathsMax: 50, costMax: 50 }, () => ++visits < 4)
    expect(visits).toBe(4)
  })

  it.each([1000, 6])('what may be wrong at one place, up to a cost of %i', (costMax) => {
    const into = new Uint8Array(count)
    const departures = decideWithDepartures(burst, record, into, costMax)
    expect([...into]).toEqual(best.tones)
    const expected = Array.from({ length: count }, (_, k) => k).flatMap((k) => {
      // The likeliest of those that are the same behind k and another one at k.
      const other = sameEnd.find(
        ({ tones }) =>
          tones[k] !== best.tones[k] &&
          tones.every((tone, at) => at <= k || tone === best.tones[at]),
      )
      const cost = best.likelihood - (other?.likelihood ?? Number.NEGATIVE_INFINITY)
      return cost > costMax ? [] : [{ k, cost, tones: other!.tones }]
    })
    expect(departures).toHaveLength(expected.length)
    departures.forEach(({ cost, symbols }, at) => {
      const { k, cost: expectedCost, tones } = expected[at]!
      expect(cost).toBeCloseTo(expectedCost, 6)
      expect(symbols[0]).toBe(k)
      expect([...symbols].sort((a, b) => b - a)).toEqual(symbols)
      expect(best.tones.map((tone, at) => (symbols.includes(at) ? 1 - tone : tone))).toEqual(tones)
    })
  })
})

it.each([1, 2, 3])(
  'two copies, one with its tones the other way round, seed %i: the sum decides',
  (seed) => {
    const first = burstOf(decided, seed)
    const second = burstOf(inverted(decided), seed + 10)
    const record = createDecisionRecord()
    runJointTrellis(
      [
        { burst: first, inverted: false },
        { burst: second, inverted: true },
      ],
      record,
    )
    const [best] = sequencesOf((tones, start) => {
      const own = likelihoodFrom(first, tones, start)
      const others = likelihoodFrom(second, inverted(tones), -start)
      return own === undefined || others === undefined ? undefined : own + others
    })
    const tones = new Uint8Array(count)
    tracePath(first, record, [], tones)
    expect([...tones]).toEqual(best!.tones)
    expect(record.bestEnd).toBe(best!.end + reach)
  },
)

describe('a record written by hand, of five symbols', () => {
  /** A row a symbol, a column for each state from three spaces fewer to three more; each gap is 1. */
  function recordOf(tone: number, bestEnd: number, winnerOf: (state: number) => number) {
    const burst = createBurst()
    burst.count = 5
    burst.tones.fill(tone, 0, 5)
    const record = createDecisionRecord()
    record.bestEnd = bestEnd
    for (let at = 0; at < 7 * 6; at++) record.winner[at] = winnerOf(at % 7)
    record.gap.fill(1, 0, 7 * 5)
    return { burst, record }
  }
  // Each mark in place of a space leads one state up, from the highest one; or the other way round.
  const up = () => recordOf(0, 6, () => 1)
  const down = () => recordOf(1, 0, () => 0)

  it.each([
    ['up', up, 1],
    ['down', down, 0],
  ])('a path that leads out of the states, %s, ends there', (_way, make, tone) => {
    const { burst, record } = make()
    const into = new Uint8Array(5).fill(9)
    tracePath(burst, record, [], into)
    expect([...into]).toEqual([9, 9, 9, 9, tone])
    expect(decideWithDepartures(burst, record, into, 10)).toEqual([])
    const visited: (readonly number[])[] = []
    const limits = { from: 0, to: 5, pathsMax: 100, costMax: 100 }
    visitPaths(burst, record, limits, ({ departures }) => visited.push(departures) > 0)
    expect(visited).toEqual([[], [4], [4, 3], [4, 3, 2], [4, 3, 2, 1], [4, 3, 2, 1, 0]])
    visited.length = 0
    visitPaths(burst, record, { ...limits, costMax: 2 }, (one) => visited.push(one.departures) > 0)
    expect(visited).toEqual([[], [4]])
  })

  it.each([
    ['up', recordOf(0, 6, (state) => (state === 0 ? 1 : 0))],
    ['down', recordOf(1, 0, (state) => (state === 6 ? 0 : 1))],
  ])('what departs out of the states, %s, has one symbol that is the other one', (_way, made) => {
    const into = new Uint8Array(5)
    const all = [0, 1, 2, 3, 4].map((k) => ({ cost: 1, symbols: [k] }))
    expect(decideWithDepartures(made.burst, made.record, into, 1)).toEqual(all)
    expect(decideWithDepartures(made.burst, made.record, into, 0.99)).toEqual([])
  })
})
