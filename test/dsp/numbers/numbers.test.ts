import { describe, expect, it } from 'vitest'
import { addPoint, emptyLine, fitLine } from '../../../dsp/numbers/lineFit.js'
import { meanPower, powerDb } from '../../../dsp/numbers/power.js'

describe('line fit', () => {
  const through = (points: readonly (readonly [number, number, number])[], ridge?: number) => {
    const line = emptyLine()
    for (const [x, y, weight] of points) addPoint(line, x, y, weight)
    return fitLine(line, ridge)
  }

  it('finds the line that the points lie on', () => {
    const { offset, slope } = through([0, 1, 2, 7].map((x) => [x, 3 - 0.5 * x, 1 + x] as const))
    expect(offset).toBeCloseTo(3, 12)
    expect(slope).toBeCloseTo(-0.5, 12)
  })

  // Worked by hand: weights 1, 1, 2 at x = 0, 1, 2 with y = 0, 1, 1; means 1.25 and 0.75, sxy = 1.25, sxx = 2.75.
  it('weighs each point', () => {
    const { slope, offset, slopeDeviation } = through([
      [0, 0, 1],
      [1, 1, 1],
      [2, 1, 2],
    ])
    expect(slope).toBeCloseTo(1.25 / 2.75, 12)
    expect(offset).toBeCloseTo(0.75 - (1.25 / 2.75) * 1.25, 12)
    expect(slopeDeviation).toBeCloseTo(1 / Math.sqrt(2.75), 8)
  })

  it('is level where nothing shows a slope', () => {
    expect(through([])).toMatchObject({ offset: 0, slope: 0 })
    expect(through([[5, 2, 3]])).toMatchObject({ offset: 2, slope: 0 })
    const steep = through([
      [0, 0, 1],
      [1, 1, 1],
    ])
    expect(steep.slope).toBeCloseTo(1, 12)
    const held = through(
      [
        [0, 0, 1],
        [1, 1, 1],
      ],
      0.25,
    )
    expect(held.slope).toBeCloseTo(0.5, 12)
  })
})

describe('power', () => {
  it('is that of a sine of full scale', () => {
    const sine = Float32Array.from({ length: 100 }, (_, n) => Math.sin((2 * Math.PI * n) / 10))
    expect(powerDb(meanPower(sine))).toBeCloseTo(-3.01, 2)
    expect(meanPower(new Float32Array(0))).toBe(0)
    expect(powerDb(0)).toBe(-200)
  })
})
