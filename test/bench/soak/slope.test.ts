import { describe, expect, it } from 'vitest'
import { slopeOf } from './slope.js'

describe('slope of a straight line', () => {
  it('points on a line: its slope, without doubt', () => {
    expect(
      slopeOf([
        [0, 1],
        [1, 3],
        [2, 5],
        [3, 7],
      ]),
    ).toEqual({ value: 2, halfWidth: 0 })
  })

  it('five points worked by hand', () => {
    // about their means: squares of x 10, products 8; what the line leaves: squares of 3.6, with three degrees of freedom
    const { value, halfWidth } = slopeOf([
      [1, 2],
      [2, 1],
      [3, 4],
      [4, 3],
      [5, 5],
    ])
    expect(value).toBeCloseTo(0.8, 10)
    expect(halfWidth).toBeCloseTo(3.182 * Math.sqrt(3.6 / 3 / 10), 10)
  })

  it('two points say nothing', () => {
    expect(
      slopeOf([
        [0, 1],
        [1, 2],
      ]).value,
    ).toBeNaN()
  })
})
