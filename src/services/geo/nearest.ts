import type { GeoPosition } from '../service.js'
import { type GreatWay, geodesicBetween } from './geodesic.js'

export interface Near<T> {
  readonly entry: T
  readonly way: GreatWay
}

/** Places that can be searched by distance. */
export interface NearestIndex<T> {
  readonly entries: readonly T[]
  /** The nearest `count` entries that `wanted` lets through, nearest first, by exact distance. */
  nearest(from: GeoPosition, count: number, wanted?: (entry: T) => boolean): readonly Near<T>[]
}

// On WGS84 the spherical distance is off by at most 0.56 %; twice that between two of them, and some to spare.
const sphereSlack = 1.012

/**
 * One pass over unit vectors picks the candidates, the exact geodesic orders them. 50,000 places take well under a
 * millisecond, at the poles and across 180 degrees too, so that no tree is needed (measured: test/bench/services.ts).
 */
export function nearestIndex<T>(
  entries: readonly T[],
  positionOf: (entry: T) => GeoPosition,
): NearestIndex<T> {
  const vectors = new Float64Array(entries.length * 3)
  for (const [at, entry] of entries.entries()) writeUnitVector(positionOf(entry), vectors, 3 * at)
  return {
    entries,
    nearest(from, count, wanted = () => true) {
      if (count < 1) return []
      const [x = 0, y = 0, z = 0] = writeUnitVector(from, new Float64Array(3), 0)
      // Squares of chords: they lie in the same order as the distances on the sphere.
      const chords = new Float64Array(entries.length)
      const best: number[] = []
      for (let at = 0; at < entries.length; at++) {
        const dx = vectors[3 * at]! - x
        const dy = vectors[3 * at + 1]! - y
        const dz = vectors[3 * at + 2]! - z
        const chord = dx * dx + dy * dy + dz * dz
        chords[at] = chord
        if (best.length === count && chord >= best[count - 1]!) continue
        if (wanted(entries[at]!)) insertSorted(best, chord, count)
      }
      const limit = withSlack(best.at(-1) ?? -1)
      const near: Near<T>[] = []
      for (let at = 0; at < entries.length; at++) {
        if (chords[at]! > limit || !wanted(entries[at]!)) continue
        const entry = entries[at]!
        near.push({ entry, way: geodesicBetween(from, positionOf(entry)) })
      }
      return near.sort((a, b) => a.way.distanceM - b.way.distanceM).slice(0, count)
    },
  }
}

function writeUnitVector(position: GeoPosition, into: Float64Array, at: number): Float64Array {
  const latitude = (position.latitudeDeg * Math.PI) / 180
  const longitude = (position.longitudeDeg * Math.PI) / 180
  into[at] = Math.cos(latitude) * Math.cos(longitude)
  into[at + 1] = Math.cos(latitude) * Math.sin(longitude)
  into[at + 2] = Math.sin(latitude)
  return into
}

/** The square of the chord to an arc that is longer by the slack. */
function withSlack(chordSquare: number): number {
  if (chordSquare < 0) return -1
  const half = Math.asin(Math.min(1, Math.sqrt(chordSquare) / 2)) * sphereSlack
  // Rounding may lift a place that is exactly as far; half a turn is as far as anything can be.
  return half >= Math.PI / 2 ? Infinity : 4 * Math.sin(half) ** 2 + 1e-15
}

function insertSorted(sorted: number[], value: number, countMax: number): void {
  let at = sorted.length
  while (at > 0 && sorted[at - 1]! > value) at--
  sorted.splice(at, 0, value)
  if (sorted.length > countMax) sorted.pop()
}
