import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../../src/runtime/random.js'
import type { ElementSet } from '../../../src/services/sky/elementSet.js'
import { horizonOf } from '../../../src/services/sky/horizon.js'
import { indexQueue } from '../../../src/services/sky/indexQueue.js'
import { looksFrom, type Observer } from '../../../src/services/sky/look.js'
import { nextRise } from '../../../src/services/sky/nextRise.js'
import { type Pass, passesOf } from '../../../src/services/sky/passes.js'
import { families, randomElements } from './randomElements.js'

const hourMs = 3_600_000

/** What nextRise stands for: every satellite is searched, in spans that grow until one of them has a rise. */
function exhaustive(
  sets: readonly ElementSet[],
  observer: Observer,
  fromMs: number,
  elevationMinDeg: number,
) {
  for (const hours of [1, 4, 12, 24]) {
    const toMs = fromMs + hours * hourMs
    let best: { set: ElementSet; pass: Pass } | undefined
    for (const set of sets)
      for (const pass of passesOf(set, observer, fromMs, toMs + 12 * hourMs, 0, toMs)) {
        if (pass.upAtStart || pass.highest.elevationDeg < elevationMinDeg) continue
        if (pass.rise.wallMs < (best?.pass.rise.wallMs ?? Infinity)) best = { set, pass }
        break
      }
    if (best !== undefined) return best
  }
  return undefined
}

const observers: fc.Arbitrary<Observer> = fc.record({
  latitudeDeg: fc.oneof(fc.double({ min: -90, max: 90, noNaN: true }), fc.constantFrom(-90, 0, 90)),
  longitudeDeg: fc.double({ min: -180, max: 180, noNaN: true }),
  heightM: fc.constantFrom(0, 900, 4000),
})
const nowMs = Date.UTC(2026, 5, 21, 16)

const listOf = (seed: number, count: number, one?: number): ElementSet[] => {
  const random = seededRandom(seed)
  return Array.from({ length: count }, (_, number) =>
    randomElements(random, number, nowMs, 30, one === undefined ? undefined : families[one]),
  ).filter((set) => set !== undefined)
}

describe('the next rise of a list', () => {
  it('is the one that a search of every satellite gives', async () => {
    let none = 0
    await fc.assert(
      fc.asyncProperty(
        fc.nat(1e6),
        fc.integer({ min: 1, max: 25 }),
        fc.option(fc.nat(families.length - 1), { nil: undefined }),
        observers,
        fc.constantFrom(0, 10, 30, 70),
        async (seed, count, family, observer, elevationMinDeg) => {
          const sets = listOf(seed, count, family)
          const expected = exhaustive(sets, observer, nowMs, elevationMinDeg)
          if (expected === undefined) none++
          expect(await nextRise(sets, observer, nowMs, elevationMinDeg)).toEqual(
            expected && { ...expected, index: sets.indexOf(expected.set) },
          )
        },
      ),
      { numRuns: 30, seed: 1 },
    )
    expect(none).toBeGreaterThan(1)
  })

  it('of a list with one set twice is its first', async () => {
    const sets = listOf(3, 20)
    const twice = [...sets, ...sets]
    const observer = { latitudeDeg: 45, longitudeDeg: -36, heightM: 0 }
    const found = await nextRise(twice, observer, nowMs, 10)
    expect(twice.indexOf(found!.set)).toBeLessThan(20)
  })
})

describe('what is told cheaply', () => {
  it('is never that nothing happens where a satellite rises or sets', () => {
    let steady = 0
    fc.assert(
      fc.property(fc.nat(1e6), observers, fc.nat(24 * 60), (seed, observer, minutes) => {
        const horizon = horizonOf(observer)
        for (const set of listOf(seed, 20)) {
          const fromMs = nowMs + minutes * 60_000
          const toMs = horizon.steadyUntil(set, fromMs)
          const lookAt = looksFrom(set, observer)
          const first = lookAt(fromMs)
          if (first === undefined) continue
          const isUp = first.elevationDeg >= 0
          if (toMs > fromMs) steady++
          for (let part = 0; part <= 1 && toMs > fromMs; part += 0.05) {
            const elevation = lookAt(fromMs + part * (toMs - fromMs))?.elevationDeg
            if (elevation !== undefined) expect(elevation >= 0).toBe(isUp)
            if (elevation !== undefined && elevation > 10)
              expect(horizon.reaches(set, 10)).toBe(true)
          }
        }
      }),
      { numRuns: 50, seed: 1 },
    )
    expect(steady).toBeGreaterThan(500)
  })
})

describe('a queue of indexes', () => {
  it('hands out the smallest key first', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ noNaN: true }), { maxLength: 200 }), (keys) => {
        const queue = indexQueue(keys.length)
        const popped: number[] = []
        for (const [index, key] of keys.entries()) queue.push(index, key)
        for (let index = queue.pop(); index !== undefined; index = queue.pop())
          popped.push(keys[index]!)
        expect(popped).toEqual([...keys].sort((a, b) => a - b || 0))
      }),
    )
  })
})
