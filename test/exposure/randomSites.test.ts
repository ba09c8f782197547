// 20,000 random sites: what is printed is never nearer than a recomputation that shares no code with src/exposure.
// The recomputation walks the ground and looks at points of the antenna, lying any way round, and sums densities from
// power, gain and duty by the free-space formula (OET Bulletin 65, equations 3 and 8, from memory).
import { describe, expect, it } from 'vitest'
import { combinedExposure } from '../../src/exposure/combined.js'
import { estimateExposure, type TransmittingSite } from '../../src/exposure/estimate.js'
import { limitSetNames, limitSetOf } from '../../src/exposure/limitSets.js'
import { seededRandom } from '../../src/runtime/random.js'

const random = seededRandom(1907)
const between = (from: number, to: number): number => from + random() * (to - from)
const oneOf = <T>(values: readonly T[]): T => values[Math.floor(random() * values.length)]!

const own = { generalWPerM2: 2, occupationalWPerM2: 10, averagingMinutes: 6 }
const sets = limitSetNames.map((name) => limitSetOf(name, own))
const factors = { free: 1, average: 1.6 ** 2, worst: 4 }

function randomSite(): TransmittingSite {
  const share = between(0.01, 1)
  return {
    frequencyMHz: oneOf([29, 51, 70.2, 144.39, 145.01, 223.5, 433.8, 915, 1296, 2400, 5700]) + 1,
    powerW: 10 ** between(-2, 3),
    feedLineLossDb: between(0, 6),
    antennaGainDbi: between(-3, 18),
    antennaHeightM: random() < 0.9 ? between(0, 30) : undefined,
    antennaSizeM: random() < 0.7 ? between(0.05, 6) : undefined,
    modeDutyFactor: 1,
    // one window that divides every averaging time of the sets: the share of it is the share of them all
    dutyLimits: random() < 0.3 ? [] : [{ windowS: 60, share }],
    reflection: oneOf(['free', 'average', 'worst'] as const),
  }
}

/** W/m2, averaged */
function densityWPerM2(site: TransmittingSite, distanceM: number): number {
  const share = site.dutyLimits[0]?.share ?? 1
  const radiatedW = site.powerW * 10 ** ((site.antennaGainDbi - site.feedLineLossDb) / 10) * share
  return (factors[site.reflection] * radiatedW) / (4 * Math.PI * distanceM * distanceM)
}

/** Nearest that any part of a person at this distance from the mast comes to any part of an antenna tilted by this. */
function nearestM(site: TransmittingSite, groundM: number, tiltRad: number): number {
  let nearest = Number.POSITIVE_INFINITY
  const half = (site.antennaSizeM ?? 0) / 2
  for (let along = -1; along <= 1; along += 0.25) {
    const x = along * half * Math.cos(tiltRad)
    const z = site.antennaHeightM! + along * half * Math.sin(tiltRad)
    const head = Math.min(2, Math.max(0, z))
    nearest = Math.min(nearest, Math.hypot(groundM - x, z - head))
  }
  return nearest
}

describe('20,000 random sites', () => {
  it('no figure is on the unsafe side', () => {
    let onGround = 0
    let nearFieldDecides = 0
    for (let n = 0; n < 20_000; n++) {
      const site = randomSite()
      const set = sets[n % sets.length]!
      const result = estimateExposure(site, set)
      if (!result.ok) throw new Error(result.reason)
      const { estimate } = result
      const farM = (2 * (site.antennaSizeM ?? 0) ** 2) / (299.792458 / site.frequencyMHz)
      for (const environment of ['general', 'occupational'] as const) {
        const { keepAwayM, groundDistanceM } = estimate[environment]
        // where somebody may be, every limit of the set holds, and so does the formula
        const density = densityWPerM2(site, keepAwayM)
        for (const limit of set.limitsOf(environment, site.frequencyMHz))
          expect(density).toBeLessThanOrEqual(limit.powerDensityMwCm2 * 10 * 1.000_001)
        expect(keepAwayM).toBeGreaterThanOrEqual(Math.max(farM, site.antennaSizeM ?? 0))
        expect(keepAwayM).toBeGreaterThanOrEqual(47.7 / site.frequencyMHz)
        if (keepAwayM > estimate[environment].limitDistanceM) nearFieldDecides++
        if (groundDistanceM === undefined) continue
        onGround++
        for (const tiltRad of [0, 0.5, Math.PI / 2])
          for (const beyondM of [0, 0.3, 2])
            expect(
              nearestM(site, groundDistanceM + beyondM, tiltRad),
              `${JSON.stringify(site)} ${environment}`,
            ).toBeGreaterThanOrEqual(keepAwayM * 0.999_999)
      }
    }
    // the loop met what it is for
    expect(onGround).toBeGreaterThan(30_000)
    expect(nearFieldDecides).toBeGreaterThan(5000)
  })

  it('several transmitters: the shares come to at most 1', () => {
    for (let n = 0; n < 2000; n++) {
      const set = sets[n % sets.length]!
      const transmitters = Array.from({ length: 1 + Math.floor(random() * 4) }, () => {
        const site = randomSite()
        const result = estimateExposure(site, set)
        if (!result.ok) throw new Error(result.reason)
        return { site, estimate: result.estimate }
      })
      for (const environment of ['general', 'occupational'] as const) {
        const { keepAwayM } = combinedExposure(transmitters, environment)
        const share = (nth: number): number =>
          transmitters.reduce((sum, { site }) => {
            const limit = set.limitsOf(environment, site.frequencyMHz)[nth]!
            return sum + densityWPerM2(site, keepAwayM) / (limit.powerDensityMwCm2 * 10)
          }, 0)
        for (const nth of set.limitsOf(environment, 145).keys())
          expect(share(nth)).toBeLessThanOrEqual(1.000_001)
      }
    }
  })
})
