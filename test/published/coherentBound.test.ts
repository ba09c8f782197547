// Values computed outside the project, with its own union over difference paths, for 72 octets with FCS: 594.4 channel bits
// on average with zero insertion and both flags.
import { describe, expect, it } from 'vitest'
import {
  coherentEventRate,
  frameSuccess,
  gaussianTail,
  noncoherentErrorRate,
  squaredDistance,
} from '../bench/coherentBound.js'

const bits = 594.4

it('distances of h = 5/6', () => {
  expect(squaredDistance(0)).toBeCloseTo(2.331, 3)
  expect(squaredDistance(1)).toBeCloseTo(2.831, 3)
  expect(squaredDistance(2)).toBeCloseTo(3.331, 3)
})

it('Q function', () => {
  // M. Abramowitz, I. Stegun, table 26.1 (from memory).
  for (const [x, q] of [
    [0, 0.5],
    [1, 0.158655254],
    [2, 0.022750132],
    [3, 0.001349898],
    [4, 3.1671e-5],
  ] as const)
    expect(gaussianTail(x) / q).toBeCloseTo(1, 4)
})

describe('half and nine tenths of the frames', () => {
  it.each([
    ['union over difference paths', (db: number) => coherentEventRate(db), 5.77, 7.12],
    ['nearest pair alone', (db: number) => coherentEventRate(db, 0), 5.36, 6.92],
    ['noncoherent, orthogonal', noncoherentErrorRate, 10.84, 12.01],
  ])('%s', (_, rate, half, ninety) => {
    const where = (share: number): number => {
      let [low, high] = [0, 20]
      for (let step = 0; step < 40; step++) {
        const middle = (low + high) / 2
        if (frameSuccess(rate(middle), bits) < share) low = middle
        else high = middle
      }
      return low
    }
    expect(Math.abs(where(0.5) - half)).toBeLessThan(0.011)
    expect(Math.abs(where(0.9) - ninety)).toBeLessThan(0.011)
  })
})
