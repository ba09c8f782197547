import { describe, expect, it } from 'vitest'
import {
  estimateExposure,
  exposureAt,
  nearestOnGroundM,
  type TransmittingSite,
} from '../../src/exposure/estimate.js'
import { exemptFromM } from '../../src/exposure/exemption.js'
import { groundDistanceM, slantDistanceM } from '../../src/exposure/geometry.js'

const site: TransmittingSite = {
  frequencyMHz: 144.39,
  powerW: 50,
  feedLineLossDb: 0,
  antennaGainDbi: 6,
  modeDutyFactor: 1,
  dutyLimits: [],
  reflection: 'average',
}

const estimateOf = (change: Partial<TransmittingSite> = {}) => {
  const result = estimateExposure({ ...site, ...change })
  if (!result.ok) throw new Error(result.reason)
  return result.estimate
}

describe('estimateExposure', () => {
  it('at the minimum distance the density is the limit', () => {
    const estimate = estimateOf({ feedLineLossDb: 1.7, dutyLimits: [{ windowS: 360, share: 0.2 }] })
    const general = exposureAt(estimate, estimate.general.minimumDistanceM, 'average')
    expect(general.generalShare).toBeCloseTo(1, 12)
    const occupational = exposureAt(estimate, estimate.occupational.minimumDistanceM, 'average')
    expect(occupational.occupationalShare).toBeCloseTo(1, 12)
  })

  it('3 dB in the feed line is half the power, and a duty of a quarter half the distance', () => {
    const whole = estimateOf()
    expect(estimateOf({ feedLineLossDb: 3.0103 }).powerAtAntennaW).toBeCloseTo(25, 4)
    const quarter = estimateOf({ dutyLimits: [{ windowS: 360, share: 0.25 }] })
    expect(quarter.general.minimumDistanceM).toBeCloseTo(whole.general.minimumDistanceM / 2, 9)
    expect(quarter.peakEirpW).toBe(whole.peakEirpW)
  })

  it('a high antenna leaves the ground free, a low one does not', () => {
    expect(estimateOf({ antennaHeightM: 12 }).general.minimumGroundDistanceM).toBe(0)
    const low = estimateOf({ antennaHeightM: 4 })
    expect(slantDistanceM(low.general.minimumGroundDistanceM!, 4)).toBeCloseTo(
      low.general.minimumDistanceM,
      9,
    )
    expect(estimateOf().general.minimumGroundDistanceM).toBeUndefined()
    expect(nearestOnGroundM({ ...site, antennaHeightM: 12 })).toBe(10)
    expect(nearestOnGroundM(site)).toBeUndefined()
  })

  it('says where the formula does not hold', () => {
    const weak = estimateOf({ powerW: 1, antennaGainDbi: 0 })
    expect(weak.validFromM).toBeCloseTo(0.3304, 4)
    expect(weak.occupational.inNearField).toBe(true)
    expect(exposureAt(weak, 0.33, 'average').inNearField).toBe(true)
    expect(exposureAt(weak, 0.34, 'average').inNearField).toBe(false)
    // 2 D^2 / lambda of a 5 m antenna on 2 m: 2 * 25 / 2.0763
    const long = estimateOf({ antennaSizeM: 5 })
    expect(long.farFieldFromM).toBeCloseTo(24.08, 2)
    expect(long.general.inNearField).toBe(true)
    // an antenna shorter than its own reactive field
    expect(estimateOf({ antennaSizeM: 0.5 }).validFromM).toBe(0.5)
  })

  it.each<[string, Partial<TransmittingSite>]>([
    ['frequency', { frequencyMHz: 0.1 }],
    ['frequency', { frequencyMHz: Number.NaN }],
    ['power', { powerW: -1 }],
    ['feed-line loss', { feedLineLossDb: -0.1 }],
    ['antenna gain', { antennaGainDbi: 90 }],
    ['antenna height', { antennaHeightM: -3 }],
    ['antenna size', { antennaSizeM: Number.POSITIVE_INFINITY }],
    ['mode duty factor', { modeDutyFactor: 1.1 }],
    ['duty window', { dutyLimits: [{ windowS: 0, share: 0.2 }] }],
    ['duty share', { dutyLimits: [{ windowS: 60, share: 20 }] }],
  ])('refuses a wrong %s in words: %o', (name, change) => {
    const result = estimateExposure({ ...site, ...change })
    expect(result.ok).toBe(false)
    if (!result.ok) expect(result.reason).toMatch(new RegExp(`^${name}: got .* expected from`))
  })

  it('the exempt distance is never inside the near field', () => {
    expect(exemptFromM(144.39, 3.83)).toBeCloseTo(1, 12)
    expect(exemptFromM(144.39, 0.000001)).toBeCloseTo(0.3304, 4)
    expect(exemptFromM(0.2, 1)).toBeUndefined()
  })

  it('ground distances: straight line and horizontal are sides of one triangle', () => {
    expect(groundDistanceM(5, 5)).toBe(4)
    expect(slantDistanceM(4, 5)).toBe(5)
    expect(groundDistanceM(2.9, 5)).toBe(0)
    // an antenna lower than the person's head
    expect(groundDistanceM(3, 1)).toBe(3)
  })
})
