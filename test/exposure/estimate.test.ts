import { describe, expect, it } from 'vitest'
import {
  type ExposureEstimate,
  estimateExposure,
  exposureAt,
  type TransmittingSite,
} from '../../src/exposure/estimate.js'
import { exemptFromM } from '../../src/exposure/exemption.js'
import { groundDistanceM, nearestOnGroundM } from '../../src/exposure/geometry.js'

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

/** Shares of the limit of everybody and of trained people; NaN in the near field. */
function shares(estimate: ExposureEstimate, distanceM: number): [number, number] {
  const at = exposureAt(estimate, distanceM, 'average')
  return at.inNearField ? [Number.NaN, Number.NaN] : [at.generalShare, at.occupationalShare]
}

describe('estimateExposure', () => {
  it('at the minimum distance the density is the limit', () => {
    const estimate = estimateOf({ feedLineLossDb: 1.7, dutyLimits: [{ windowS: 360, share: 0.2 }] })
    expect(shares(estimate, estimate.general.limitDistanceM)[0]).toBeCloseTo(1, 12)
    expect(shares(estimate, estimate.occupational.limitDistanceM)[1]).toBeCloseTo(1, 12)
  })

  it('3 dB in the feed line is half the power, and a duty of a quarter half the distance', () => {
    const whole = estimateOf()
    expect(estimateOf({ feedLineLossDb: 3.0103 }).powerAtAntennaW).toBeCloseTo(25, 4)
    const quarter = estimateOf({ dutyLimits: [{ windowS: 360, share: 0.25 }] })
    expect(quarter.general.limitDistanceM).toBeCloseTo(whole.general.limitDistanceM / 2, 9)
    expect(quarter.peakEirpW).toBe(whole.peakEirpW)
  })

  it('a high antenna leaves the ground free, a low one does not', () => {
    expect(estimateOf({ antennaHeightM: 12 }).general.groundDistanceM).toBe(0)
    const low = estimateOf({ antennaHeightM: 4 }).general
    expect(Math.hypot(low.groundDistanceM!, 4 - 2)).toBeCloseTo(low.keepAwayM, 9)
    expect(estimateOf().general.groundDistanceM).toBeUndefined()
  })

  it('the distance to keep is never nearer than where the formula holds, from the mast too', () => {
    // 4 m on 2 m: far field from 15.41 m, the limit at 4.5 m
    const long = estimateOf({ antennaHeightM: 12, antennaSizeM: 4 }).general
    expect(long.limitDistanceM).toBeCloseTo(4.5028, 4)
    expect(long.keepAwayM).toBeCloseTo(15.41, 2)
    // its lowest point is 8 m over people's heads: it is not 'nobody is too near' as for the limit alone
    expect(long.groundDistanceM).toBeCloseTo(Math.sqrt((15.413 + 2) ** 2 - 10 ** 2), 2)
  })

  it('nothing that is radiated asks for no distance, with an antenna of any size', () => {
    const none = estimateOf({ powerW: 0, antennaHeightM: 1, antennaSizeM: 4 }).general
    expect(none).toMatchObject({ keepAwayM: 0, groundDistanceM: 0, inNearField: false })
  })

  it('says where the formula does not hold', () => {
    const weak = estimateOf({ powerW: 1, antennaGainDbi: 0 })
    expect(weak.validFromM).toBeCloseTo(0.3304, 4)
    expect(weak.occupational.inNearField).toBe(true)
    expect(exposureAt(weak, 0.33, 'average')).toEqual({ distanceM: 0.33, inNearField: true })
    expect(exposureAt(weak, 0.34, 'average').inNearField).toBe(false)
    // 2 D^2 / lambda of a 5 m antenna on 2 m: 2 * 25 / 2.0763
    const long = estimateOf({ antennaSizeM: 5 })
    expect(long.farFieldFromM).toBeCloseTo(24.08, 2)
    expect(long.general.inNearField).toBe(true)
    // an antenna shorter than its own reactive field
    expect(estimateOf({ antennaSizeM: 0.5 }).validFromM).toBe(0.5)
  })

  it('where the limit is met is in the near field or not, also where it just begins', () => {
    expect(estimateOf().general.inNearField).toBe(false)
    // An antenna shorter than half a wavelength, as long as the distance to the limit.
    const { limitDistanceM } = estimateOf({ powerW: 1 }).general
    const { general, validFromM } = estimateOf({ powerW: 1, antennaSizeM: limitDistanceM })
    expect(validFromM).toBe(limitDistanceM)
    expect(general.inNearField).toBe(false)
  })

  it("a dipole's effective radiated power is its power, and by that it is exempt", () => {
    const dipole = estimateOf({ powerW: 10, antennaGainDbi: 10 * Math.log10(1.64) })
    expect(dipole.peakErpW).toBeCloseTo(10, 9)
    expect(dipole.exemptFromM).toBeCloseTo(Math.sqrt(10 / 3.83), 9)
    // 6 dBi, keyed a quarter of the time
    const { exemptFromM: quarterM } = estimateOf({ dutyLimits: [{ windowS: 360, share: 0.25 }] })
    expect(quarterM).toBeCloseTo(Math.sqrt((0.25 * 50 * 10 ** 0.6) / 1.64 / 3.83), 9)
  })

  it.each<[string, Partial<TransmittingSite>, string]>([
    ['frequency', { frequencyMHz: 0.1 }, '0.3 to 100000 MHz (47 CFR 1.1310'],
    ['frequency', { frequencyMHz: Number.NaN }, '0.3 to 100000 MHz'],
    ['power', { powerW: -1 }, '0 to 1000000 W'],
    ['feed-line loss', { feedLineLossDb: -0.1 }, '0 to 100 dB'],
    ['antenna gain', { antennaGainDbi: 90 }, '-60 to 80 dBi'],
    ['antenna height', { antennaHeightM: -3 }, '0 to 10000 m'],
    ['antenna size', { antennaSizeM: Number.POSITIVE_INFINITY }, '0 to 1000 m'],
    ['mode duty factor', { modeDutyFactor: 1.1 }, '0 to 1'],
    ['duty window', { dutyLimits: [{ windowS: 0, share: 0.2 }] }, '1 to 1000000 s'],
    ['duty share', { dutyLimits: [{ windowS: 60, share: 20 }] }, '0 to 1'],
  ])('refuses a wrong %s in words: %o', (name, change, expected) => {
    const result = estimateExposure({ ...site, ...change })
    expect(result.ok).toBe(false)
    const { reason } = result as { reason: string }
    expect(reason).toContain(`, expected from ${expected}`)
    expect(reason.startsWith(`${name}: got `)).toBe(true)
  })

  it('the exempt distance is never inside the near field', () => {
    expect(exemptFromM(144.39, 3.83)).toBeCloseTo(1, 12)
    expect(exemptFromM(144.39, 0.000001)).toBeCloseTo(0.3304, 4)
    for (const frequencyMHz of [0.2999, 100_000.1])
      expect(exemptFromM(frequencyMHz, 1)).toBeUndefined()
    for (const frequencyMHz of [0.3, 100_000])
      expect(exemptFromM(frequencyMHz, 1)).toBeGreaterThan(0)
  })

  it('ground distances: straight line and horizontal are sides of one triangle', () => {
    expect(groundDistanceM(5, { heightM: 5, sizeM: 0 })).toBe(4)
    expect(groundDistanceM(2.9, { heightM: 5, sizeM: 0 })).toBe(0)
    // an antenna lower than the person's head
    expect(groundDistanceM(3, { heightM: 1, sizeM: 0 })).toBe(3)
    // a long one: from its nearest end, however it lies
    expect(groundDistanceM(4, { heightM: 5, sizeM: 2 })).toBe(4)
    expect(groundDistanceM(2, { heightM: 5, sizeM: 2 })).toBe(0)
    expect(groundDistanceM(2.001, { heightM: 5, sizeM: 2 })).toBeGreaterThan(0)
    expect(nearestOnGroundM({ heightM: 12, sizeM: 4 })).toBe(8)
    expect(nearestOnGroundM({ heightM: 3, sizeM: 4 })).toBe(0)
  })
})
