import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { geodesicBetween } from '../../../src/services/geo/geodesic.js'
import { nearestIndex } from '../../../src/services/geo/nearest.js'

const place = fc.record({
  latitudeDeg: fc.double({ min: -90, max: 90, noNaN: true }),
  longitudeDeg: fc.double({ min: -180, max: 180, noNaN: true }),
})

describe('nearestIndex', () => {
  it('finds what a comparison of every exact distance finds', () => {
    fc.assert(
      fc.property(
        fc.array(place, { maxLength: 60 }),
        place,
        fc.integer({ min: 1, max: 8 }),
        (places, from, count) => {
          const all = places
            .map((one) => geodesicBetween(from, one).distanceM)
            .sort((a, b) => a - b)
          const found = nearestIndex(places, (one) => one).nearest(from, count)
          expect(found.map((near) => near.way.distanceM)).toEqual(all.slice(0, count))
        },
      ),
      { numRuns: 300 },
    )
  })

  it('sees across 180 degrees and over the pole', () => {
    const places = [
      { latitudeDeg: 0, longitudeDeg: 179.9 },
      { latitudeDeg: 0, longitudeDeg: -178 },
      { latitudeDeg: 89.9, longitudeDeg: -170 },
      { latitudeDeg: 89, longitudeDeg: 10 },
    ]
    const index = nearestIndex(places, (one) => one)
    expect(index.nearest({ latitudeDeg: 0, longitudeDeg: -179.9 }, 1)[0]!.entry).toBe(places[0])
    expect(index.nearest({ latitudeDeg: 89.9, longitudeDeg: 10 }, 1)[0]!.entry).toBe(places[2])
  })

  it('looks only at what is wanted, and gives what there is', () => {
    const places = [0, 1, 2, 3].map((latitudeDeg) => ({ latitudeDeg, longitudeDeg: 0 }))
    const index = nearestIndex(places, (one) => one)
    const odd = index.nearest(places[0]!, 5, (one) => one.latitudeDeg % 2 === 1)
    expect(odd.map((near) => near.entry.latitudeDeg)).toEqual([1, 3])
    expect(index.nearest(places[0]!, 0)).toEqual([])
    expect(nearestIndex([], () => places[0]!).nearest(places[0]!, 3)).toEqual([])
  })
})
