import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { shrink } from './shrink.js'

const numbers = (count: number): number[] => Array.from({ length: count }, (_, index) => index)

describe('the shortest schedule that still fails', () => {
  it('is what the failure needs, wherever that stands, in its order', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.integer({ min: 1, max: 300 }),
        fc.uniqueArray(fc.nat(), { minLength: 1, maxLength: 4 }),
        async (count, places) => {
          const needed = [...new Set(places.map((place) => place % count))].sort((a, b) => a - b)
          const left = await shrink(
            numbers(count),
            async (some) => needed.every((one) => some.includes(one)),
            10_000,
          )
          expect(left).toEqual(needed)
        },
      ),
      { seed: 7, numRuns: 200 },
    )
  })

  it('is empty where it fails without anything', async () => {
    expect(await shrink(numbers(20), async () => true, 1_000)).toEqual([])
  })

  it('is the whole where nothing can be left out', async () => {
    const all = numbers(9)
    expect(await shrink(all, async (some) => some.length === 9, 1_000)).toEqual(all)
    expect(await shrink([], async () => true, 1_000)).toEqual([])
  })

  it('ends after so many tries, with a list that was seen to fail', async () => {
    let tries = 0
    const fails = async (some: readonly number[]): Promise<boolean> => {
      tries++
      return some.includes(77)
    }
    const left = await shrink(numbers(100), fails, 5)
    expect(tries).toBe(5)
    expect(left).toContain(77)
    expect(left.length).toBeLessThan(100)
  })
})
