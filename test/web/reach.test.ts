import { join } from 'node:path'
import { expect, it } from 'vitest'

it('the rings reach to the farthest station, and not to one whose position is out of all proportion', async () => {
  const file = join(import.meta.dirname, '../../src/web/page/views/reach.ts')
  const { reachOf } = (await import(file)) as { reachOf(distancesKm: readonly number[]): number }
  expect(reachOf([12])).toBe(12)
  expect(reachOf([40, 3, 17, 9])).toBe(40)
  // Somebody sends 0 N 0 E, or makes it up.
  expect(reachOf([40, 6200, 3, 17, 9])).toBe(40)
  expect(reachOf([5, 17_000])).toBe(5)
  expect(reachOf([9, 72, 9.1])).toBe(72)
  expect(reachOf([9, 73, 9.1])).toBe(9.1)
  expect(reachOf([])).toBe(0)
})
