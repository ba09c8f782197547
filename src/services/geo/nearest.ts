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
  entries.forEach((entry, at) => {
    vectors.set(unitVector(positionOf(entry)), at * 3)
  })
  return {
    entries,
    nearest(from, count, wanted = () => true) {
      if (count < 1) return []
      const [x, y, z] = unitVector(from)
      const chords = new Float64Array(entries.length)
      const best: number[] = []
      for (let at = 0; at < entries.length; at++) {
        const dx = vectors[3 * at]! - x
        const dy = vectors[3 * at + 1]! - y
        const dz = vectors[3 * at + 2]! - z
        chords[at] = Math.sqrt(dx * dx + dy * dy + dz * dz)
        if (best.length === count && chords[at]! >= best[count - 1]!) continue
        if (wanted(entries[at]!)) insertSorted(best, chords[at]!, count)
      }
      const limit = angleOf(best.at(-1) ?? -1) * sphereSlack
      const near: Near<T>[] = []
      for (let at = 0; at < entries.length; at++) {
        if (angleOf(chords[at]!) > limit || !wanted(entries[at]!)) continue
        const entry = entries[at]!
        near.push({ entry, way: geodesicBetween(from, positionOf(entry)) })
      }
      return near.sort((a, b) => a.way.distanceM - b.way.distanceM).slice(0, count)
    },
  }
}

function unitVector(position: GeoPosition): [number, number, number] {
  const latitude = (position.latitudeDeg * Math.PI) / 180
  const longitude = (position.longitudeDeg * Math.PI) / 180
  return [
    Math.cos(latitude) * Math.cos(longitude),
    Math.cos(latitude) * Math.sin(longitude),
    Math.sin(latitude),
  ]
}

const angleOf = (chord: number): number => (chord < 0 ? -1 : 2 * Math.asin(Math.min(1, chord / 2)))

function insertSorted(sorted: number[], value: number, countMax: number): void {
  let at = sorted.length
  while (at > 0 && sorted[at - 1]! > value) at--
  sorted.splice(at, 0, value)
  if (sorted.length > countMax) sorted.pop()
}
