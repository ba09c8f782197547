/** The sixteen points, from north, eastward. */
const compassPoints = [
  'N',
  'NNE',
  'NE',
  'ENE',
  'E',
  'ESE',
  'SE',
  'SSE',
  'S',
  'SSW',
  'SW',
  'WSW',
  'W',
  'WNW',
  'NW',
  'NNW',
] as const
export type CompassPoint = (typeof compassPoints)[number]

/** The point nearest to a bearing; each covers 22.5 degrees, and its lower border belongs to it. */
export function compassPoint(bearingDeg: number): CompassPoint {
  const index = Math.floor((bearingDeg + 11.25) / 22.5)
  return compassPoints[((index % 16) + 16) % 16]!
}
