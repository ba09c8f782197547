import { averagePowerW, type DutyLimit, worstKeyedShare } from './averaging.js'
import { alwaysExemptW, exemptFromM } from './exemption.js'
import {
  distanceToLimitM,
  eirpW,
  electricFieldVPerM,
  erpOfEirp,
  farFieldFromM,
  magneticFieldAPerM,
  powerDensityMwCm2,
  type Reflection,
  ratioOfDb,
  reactiveNearFieldM,
  wavelengthM,
} from './fields.js'
import { groundDistanceM, slantDistanceM, standingHeightM } from './geometry.js'
import {
  type Environment,
  type ExposureLimit,
  exposureLimit,
  limitsFromMHz,
  limitsToMHz,
} from './limits.js'

/** One transmitter and its antenna. */
export interface TransmittingSite {
  readonly frequencyMHz: number
  /** power at the transmitter's socket while keyed, W */
  readonly powerW: number
  readonly feedLineLossDb: number
  readonly antennaGainDbi: number
  /** above the ground that people stand on, m */
  readonly antennaHeightM?: number | undefined
  /** largest dimension of the antenna, m */
  readonly antennaSizeM?: number | undefined
  /** how much of a keyed stretch is carrier; 1 for FM and AFSK */
  readonly modeDutyFactor: number
  /** limits that the transmit controller enforces; empty means keyed all the time */
  readonly dutyLimits: readonly DutyLimit[]
  readonly reflection: Reflection
}

/** What one environment's limit means for the site. */
export interface EnvironmentEstimate {
  readonly limit: ExposureLimit
  /** largest share of the averaging time that can be keyed */
  readonly keyedShare: number
  readonly averagePowerAtAntennaW: number
  readonly averageEirpW: number
  /** nearest that anybody may be, along the straight line from the antenna in the main beam */
  readonly minimumDistanceM: number
  /** the same seen from the foot of the mast; undefined without an antenna height */
  readonly minimumGroundDistanceM: number | undefined
  /** true where the minimum distance lies where the formula does not hold */
  readonly inNearField: boolean
}

export interface ExposureEstimate {
  readonly wavelengthM: number
  readonly powerAtAntennaW: number
  readonly peakEirpW: number
  readonly peakErpW: number
  /** lambda / (2 pi) */
  readonly reactiveNearFieldM: number
  /** 2 D^2 / lambda; undefined without an antenna size */
  readonly farFieldFromM: number | undefined
  /** nearer than this the formula does not hold */
  readonly validFromM: number
  /** from this separation on a single fixed source needs no evaluation under 47 CFR 1.1307(b)(3); 0 up to 1 mW */
  readonly exemptFromM: number
  readonly occupational: EnvironmentEstimate
  readonly general: EnvironmentEstimate
}

/** Exposure at one distance, averaged for each environment. */
export interface ExposureAtDistance {
  /** straight line from the antenna, m */
  readonly distanceM: number
  /** field while keyed */
  readonly electricFieldVPerM: number
  readonly magneticFieldAPerM: number
  readonly occupationalMwCm2: number
  readonly generalMwCm2: number
  /** density over limit: above 1 is over it */
  readonly occupationalShare: number
  readonly generalShare: number
  readonly inNearField: boolean
}

export type EstimateResult =
  | { readonly ok: true; readonly estimate: ExposureEstimate }
  | { readonly ok: false; readonly reason: string }

/**
 * Estimate for the main beam of one transmitter in the far field.
 * @returns a reason in words for a site that cannot be computed
 * @see OET Bulletin 65; 47 CFR 1.1310, 1.1307(b)
 */
export function estimateExposure(site: TransmittingSite): EstimateResult {
  const reason = whyNot(site)
  if (reason !== undefined) return { ok: false, reason }
  const powerAtAntennaW = site.powerW / ratioOfDb(site.feedLineLossDb)
  const peakEirpW = eirpW(powerAtAntennaW, site.antennaGainDbi)
  const reactiveM = reactiveNearFieldM(site.frequencyMHz)
  const farM =
    site.antennaSizeM === undefined
      ? undefined
      : farFieldFromM(site.frequencyMHz, site.antennaSizeM)
  const validFromM = Math.max(reactiveM, farM ?? 0, site.antennaSizeM ?? 0)
  const general = inEnvironment('general', site, powerAtAntennaW, validFromM)
  return {
    ok: true,
    estimate: {
      wavelengthM: wavelengthM(site.frequencyMHz),
      powerAtAntennaW,
      peakEirpW,
      peakErpW: erpOfEirp(peakEirpW),
      reactiveNearFieldM: reactiveM,
      farFieldFromM: farM,
      validFromM,
      exemptFromM:
        general.averagePowerAtAntennaW <= alwaysExemptW
          ? 0
          : exemptFromM(site.frequencyMHz, erpOfEirp(general.averageEirpW))!,
      occupational: inEnvironment('occupational', site, powerAtAntennaW, validFromM),
      general,
    },
  }
}

/**
 * Density, fields and shares of the limits at one straight distance.
 * @throws RangeError for a distance that is not above 0
 */
export function exposureAt(
  estimate: ExposureEstimate,
  distanceM: number,
  reflection: Reflection,
): ExposureAtDistance {
  const density = (environment: EnvironmentEstimate): number =>
    powerDensityMwCm2(environment.averageEirpW, distanceM, reflection)
  const occupationalMwCm2 = density(estimate.occupational)
  const generalMwCm2 = density(estimate.general)
  return {
    distanceM,
    electricFieldVPerM: electricFieldVPerM(estimate.peakEirpW, distanceM, reflection),
    magneticFieldAPerM: magneticFieldAPerM(estimate.peakEirpW, distanceM, reflection),
    occupationalMwCm2,
    generalMwCm2,
    occupationalShare: occupationalMwCm2 / estimate.occupational.limit.powerDensityMwCm2,
    generalShare: generalMwCm2 / estimate.general.limit.powerDensityMwCm2,
    inNearField: distanceM < estimate.validFromM,
  }
}

/** Straight distance to the nearest place where somebody on the ground can be, m; undefined without a height. */
export const nearestOnGroundM = (site: TransmittingSite): number | undefined =>
  site.antennaHeightM === undefined ? undefined : slantDistanceM(0, site.antennaHeightM)

function inEnvironment(
  environment: Environment,
  site: TransmittingSite,
  powerAtAntennaW: number,
  validFromM: number,
): EnvironmentEstimate {
  const limit = exposureLimit(environment, site.frequencyMHz)!
  const keyedShare = worstKeyedShare(limit.averagingMinutes * 60, site.dutyLimits)
  const averagePowerAtAntennaW = averagePowerW(powerAtAntennaW, site.modeDutyFactor, keyedShare)
  const averageEirpW = eirpW(averagePowerAtAntennaW, site.antennaGainDbi)
  const minimumDistanceM = distanceToLimitM(averageEirpW, limit.powerDensityMwCm2, site.reflection)
  return {
    limit,
    keyedShare,
    averagePowerAtAntennaW,
    averageEirpW,
    minimumDistanceM,
    minimumGroundDistanceM:
      site.antennaHeightM === undefined
        ? undefined
        : groundDistanceM(minimumDistanceM, site.antennaHeightM, standingHeightM),
    inNearField: minimumDistanceM < validFromM,
  }
}

function whyNot(site: TransmittingSite): string | undefined {
  const checks: readonly (readonly [string, number | undefined, number, number, string])[] = [
    ['frequency', site.frequencyMHz, limitsFromMHz, limitsToMHz, 'MHz'],
    ['power', site.powerW, 0, 1e6, 'W'],
    ['feed-line loss', site.feedLineLossDb, 0, 100, 'dB'],
    ['antenna gain', site.antennaGainDbi, -60, 80, 'dBi'],
    ['antenna height', site.antennaHeightM, 0, 10_000, 'm'],
    ['antenna size', site.antennaSizeM, 0, 1000, 'm'],
    ['mode duty factor', site.modeDutyFactor, 0, 1, ''],
    ...site.dutyLimits.flatMap(({ windowS, share }) => [
      ['duty window', windowS, 1, 1e6, 's'] as const,
      ['duty share', share, 0, 1, ''] as const,
    ]),
  ]
  for (const [name, value, from, to, unit] of checks) {
    if (value === undefined) continue
    if (value >= from && value <= to) continue
    return `${name}: got ${value}, expected from ${from} to ${to} ${unit}`.trimEnd()
  }
  return undefined
}
