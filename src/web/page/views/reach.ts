/** Beyond so many times the distance of the middle one a station is no measure for the others: a wrong position hides nobody. */
const farTimes = 8

/** @returns how far the rings must reach, km: to the farthest station, but for those out of all proportion */
export function reachOf(distancesKm: readonly number[]): number {
  const sorted = distancesKm.toSorted((a, b) => a - b)
  const middle = sorted[(sorted.length - 1) >> 1] ?? 0
  return sorted.findLast((km) => km <= farTimes * middle) ?? middle
}
