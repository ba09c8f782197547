import { describe, expect, it } from 'vitest'
import { solveSymmetric } from '../../../../dsp/modem/baseband/leastSquares.js'
import { seededRandom } from '../../../../src/runtime/random.js'

const solve = (matrix: readonly number[], right: readonly number[]): number[] => [
  ...solveSymmetric(Float64Array.from(matrix), Float64Array.from(right)),
]

describe('symmetric equations', () => {
  // By hand: 4x + 2y = 10, 2x + 3y = 11 have x = 1, y = 3.
  it('of one, two and three unknowns', () => {
    expect(solve([4], [2])).toEqual([0.5])
    const two = solve([4, 2, 2, 3], [10, 11])
    expect(two[0]).toBeCloseTo(1, 12)
    expect(two[1]).toBeCloseTo(3, 12)
    // 6x + y + 2z = 14, x + 5y + z = 14, 2x + y + 7z = 25 have x = 1, y = 2, z = 3.
    const three = solve([6, 1, 2, 1, 5, 1, 2, 1, 7], [14, 14, 25])
    ;[1, 2, 3].forEach((value, at) => {
      expect(three[at]).toBeCloseTo(value, 12)
    })
  })

  it('what lies below the diagonal is not read', () => {
    const [x, y] = solve([4, 2, Number.NaN, 3], [10, 11])
    expect([x, y].map((value) => Math.round(1e9 * value!) / 1e9)).toEqual([1, 3])
  })

  it.each([1, 2, 5, 14])('of %i unknowns, put in again', (n) => {
    const random = seededRandom(n)
    const rows = Array.from({ length: n + 3 }, () =>
      Array.from({ length: n }, () => random() - 0.5),
    )
    const matrix = Array.from({ length: n * n }, (_, at) =>
      rows.reduce((sum, row) => sum + row[Math.floor(at / n)]! * row[at % n]!, 0),
    )
    const wanted = Array.from({ length: n }, (_, at) => at - 2.5)
    const right = wanted.map((_, i) =>
      wanted.reduce((sum, value, j) => sum + matrix[i * n + j]! * value, 0),
    )
    solve(matrix, right).forEach((value, at) => {
      expect(value).toBeCloseTo(wanted[at]!, 6)
    })
  })

  it('that do not tell an unknown give numbers all the same', () => {
    for (const matrix of [
      [1, 1, 1, 1],
      [0, 0, 0, 0],
      [1, 2, 2, 1],
    ])
      expect(solve(matrix, [1, 1]).every(Number.isFinite)).toBe(true)
    expect(solve([0, 0, 0, 4], [0, 8])[1]).toBeCloseTo(2, 9)
  })
})
