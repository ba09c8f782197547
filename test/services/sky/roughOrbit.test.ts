import { sgp4, twoline2satrec } from 'satellite.js'
import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../../src/runtime/random.js'
import { type ElementSet, elementSetOf } from '../../../src/services/sky/elementSet.js'
import { roughPlace } from '../../../src/services/sky/roughOrbit.js'
import { geoSky } from '../../published/geoSky.js'
import { families, randomElements } from './randomElements.js'

/** Largest share of the stated uncertainty that SGP4 is off by; undefined where no rough place is given. */
function shareOff(set: ElementSet, days: readonly number[]): number | undefined {
  const record = set.record()
  let largest: number | undefined
  for (const day of days) {
    const rough = roughPlace(set, set.epochWallMs + day * 86_400_000)
    const state = sgp4(record, day * 1440)
    if (rough === undefined || !state || record.error !== 0) continue
    const { x, y, z } = state.position
    const radius = Math.hypot(x, y, z)
    const off = Math.acos(Math.min(1, (x * rough.x + y * rough.y + z * rough.z) / radius))
    largest = Math.max(largest ?? 0, off / rough.uncertaintyRad)
  }
  return largest
}

const days = [0, 0.3, 1, 2.2, 5, 9.7, 14, 21, 30, -1, -10, -30]

describe('the rough place of a satellite', () => {
  it.each(families)('$name: is within half of its uncertainty', (family) => {
    const random = seededRandom(7)
    let given = 0
    let largest = 0
    for (let at = 0; at < 1500; at++) {
      const set = randomElements(random, at, Date.UTC(2026, 5, 21), 0, family)
      const share = set && shareOff(set, days)
      if (share === undefined) continue
      given++
      largest = Math.max(largest, share)
    }
    expect(largest).toBeLessThan(0.5)
    if (family.name === 'slow and eccentric') expect(given).toBe(0)
    else expect(given).toBeGreaterThan(1000)
  })

  it('holds for the published orbits', () => {
    let given = 0
    for (const { line1, line2 } of geoSky.sgp4.cases as { line1: string; line2: string }[]) {
      const set = elementSetOf('', () => twoline2satrec(line1, line2))
      const share = set && shareOff(set, days)
      if (share === undefined) continue
      given++
      expect(share, line1).toBeLessThan(0.5)
    }
    expect(given).toBeGreaterThan(5)
  })
})
