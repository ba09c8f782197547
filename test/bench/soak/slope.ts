export interface Slope {
  /** of the fitted line, in the unit of the values per unit of the places */
  readonly value: number
  /** half of the interval that holds the true slope with 95 %, if what is left is noise without memory */
  readonly halfWidth: number
}

/**
 * Slope of a straight line through points, by least squares.
 * @param points three or more
 * @see Draper and Smith, Applied Regression Analysis, chapter 1 (from memory); test/bench/slope.test.ts
 */
export function slopeOf(points: readonly (readonly [at: number, value: number])[]): Slope {
  const count = points.length
  if (count < 3) return { value: Number.NaN, halfWidth: Number.NaN }
  const meanAt = points.reduce((sum, [at]) => sum + at, 0) / count
  const meanValue = points.reduce((sum, [, value]) => sum + value, 0) / count
  let squares = 0
  let products = 0
  for (const [at, value] of points) {
    squares += (at - meanAt) ** 2
    products += (at - meanAt) * (value - meanValue)
  }
  const value = products / squares
  const left = points.reduce(
    (sum, [at, one]) => sum + (one - meanValue - value * (at - meanAt)) ** 2,
    0,
  )
  const freedom = count - 2
  return { value, halfWidth: studentT(freedom) * Math.sqrt(left / freedom / squares) }
}

/** Quantile 0.975 of Student's distribution, by degrees of freedom (any statistical table). */
const quantiles = [
  ...[12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228],
  ...[2.201, 2.179, 2.16, 2.145, 2.131, 2.12, 2.11, 2.101, 2.093, 2.086],
]
const studentT = (freedom: number): number => quantiles[freedom - 1] ?? 1.96 + 2.52 / freedom
