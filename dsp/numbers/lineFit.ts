// Weighted least squares through points: the one straight line that everything in here is fitted with.

/** Weighted sums over points, for a straight line. */
export interface LineSums {
  weight: number
  x: number
  y: number
  xx: number
  xy: number
}

export const emptyLine = (): LineSums => ({ weight: 0, x: 0, y: 0, xx: 0, xy: 0 })

export function addPoint(line: LineSums, x: number, y: number, weight: number): void {
  line.weight += weight
  line.x += weight * x
  line.y += weight * y
  line.xx += weight * x * x
  line.xy += weight * x * y
}

export interface FittedLine {
  /** value at x = 0 */
  readonly offset: number
  readonly slope: number
  /** standard deviation of the slope, if the weights are inverse variances */
  readonly slopeDeviation: number
}

/**
 * The line through what was added; 0 for no points, level for points that share one x.
 * @param ridge draws the slope to 0 as much as so many squared units of x would, for points that are close together
 */
export function fitLine({ weight, x, y, xx, xy }: LineSums, ridge = 0): FittedLine {
  if (!(weight > 0)) return { offset: 0, slope: 0, slopeDeviation: Number.POSITIVE_INFINITY }
  const spread = xx - (x * x) / weight + ridge * weight
  const slope = spread > spreadMin * weight ? (xy - (x * y) / weight) / spread : 0
  return {
    offset: (y - slope * x) / weight,
    slope,
    slopeDeviation: 1 / Math.sqrt(Math.max(0, spread) + spreadMin),
  }
}

/** Below this mean square of x there is no slope to be seen. */
const spreadMin = 1e-9
