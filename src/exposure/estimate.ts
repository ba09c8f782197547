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
import { type AntennaPlace, groundDistanceM } from './geometry.js'
import { type Environment, type ExposureLimit, type LimitSet, usLimits } from './limits.js'

/** One transmitter and its antenna. */
export interface TransmittingSite {
  readonly frequencyMHz: number
  /** power at the transmitter's socket while keyed, W */
  readonly powerW: number
  readonly feedLineLossDb: number
  readonly antennaGainDbi: number
  /** of its centre above the ground that people stand on, m */
  readonly antennaHeightM?: number | undefined
  /** largest dimension of the antenna, m */
  readonly antennaSizeM?: number | undefined
  /** how much of a keyed stretch is carrier; 1 for FM and AFSK */
  readonly modeDutyFactor: number
  /** limits that the transmit controller enforces; empty means keyed all the time */
  readonly dutyLimits: readonly DutyLimit[]
  readonly reflection: Reflection
}

/** What one environment's limit means for the site; of several limits, the one that asks for the largest distance. */
export interface EnvironmentEstimate {
  readonly limit: ExposureLimit
  /** largest share of the averaging time that can be keyed */
  readonly keyedShare: number
  readonly averagePowerAtAntennaW: number
  readonly averageEirpW: number
  /** where the formula reaches the limit, straight from the antenna in the main beam; 0 only where nothing is radiated */
  readonly limitDistanceM: number
  /** nearest that anybody may be: the limit distance, or where the formula begins to hold if that is farther */
  readonly keepAwayM: number
  /** the same from the foot of the mast; undefined without an antenna height, 0 where nobody on level ground is too near */
  readonly groundDistanceM: number | undefined
  /** true where the limit distance lies where the formula does not hold */
  readonly inNearField: boolean
}

export interface ExposureEstimate {
  /** of the set of limits */
  readonly limits: string
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
  /**
   * from this separation on a single fixed source needs no evaluation under 47 CFR 1.1307(b)(3); 0 up to 1 mW; undefined
   * under other limits than those of 47 CFR
   */
  readonly exemptFromM: number | undefined
  readonly occupational: EnvironmentEstimate
  readonly general: EnvironmentEstimate
}

/** Exposure at one distance where the formula holds, averaged for each environment. */
export interface ExposureAtDistance {
  /** straight line from the antenna, m */
  readonly distanceM: number
  readonly inNearField: false
  /** field while keyed */
  readonly electricFieldVPerM: number
  readonly magneticFieldAPerM: number
  readonly occupationalMwCm2: number
  readonly generalMwCm2: number
  /** density over limit: above 1 is over it */
  readonly occupationalShare: number
  readonly generalShare: number
}

/** Nearer than `validFromM` there are no figures: what the formula gives there may be too low. */
export interface NearFieldDistance {
  readonly distanceM: number
  readonly inNearField: true
}

export type EstimateResult =
  | { readonly ok: true; readonly estimate: ExposureEstimate }
  | { readonly ok: false; readonly reason: string }

/**
 * Estimate for the main beam of one transmitter in the far field.
 * @returns a reason in words for a site that cannot be computed
 * @see OET Bulletin 65; 47 CFR 1.1310, 1.1307(b)
 */
export function estimateExposure(
  site: TransmittingSite,
  limits: LimitSet = usLimits,
): EstimateResult {
  const reason = whyNot(site, limits)
  if (reason !== undefined) return { ok: false, reason }
  const powerAtAntennaW = site.powerW / ratioOfDb(site.feedLineLossDb)
  const peakEirpW = eirpW(powerAtAntennaW, site.antennaGainDbi)
  const reactiveM = reactiveNearFieldM(site.frequencyMHz)
  const farM =
    site.antennaSizeM === undefined
      ? undefined
      : farFieldFromM(site.frequencyMHz, site.antennaSizeM)
  const validFromM = Math.max(reactiveM, farM ?? 0, site.antennaSizeM ?? 0)
  const general = inEnvironment('general', site, limits, powerAtAntennaW, validFromM)
  return {
    ok: true,
    estimate: {
      limits: limits.title,
      wavelengthM: wavelengthM(site.frequencyMHz),
      powerAtAntennaW,
      peakEirpW,
      peakErpW: erpOfEirp(peakEirpW),
      reactiveNearFieldM: reactiveM,
      farFieldFromM: farM,
      validFromM,
      exemptFromM: limits === usLimits ? exemptOf(site.frequencyMHz, general) : undefined,
      occupational: inEnvironment('occupational', site, limits, powerAtAntennaW, validFromM),
      general,
    },
  }
}

const exemptOf = (frequencyMHz: number, general: EnvironmentEstimate): number =>
  general.averagePowerAtAntennaW <= alwaysExemptW
    ? 0
    : exemptFromM(frequencyMHz, erpOfEirp(general.averageEirpW))!

/**
 * Density, fields and shares of the limits at one straight distance; nothing but the distance in the near field.
 * @throws RangeError for a distance that is not above 0
 */
export function exposureAt(
  estimate: ExposureEstimate,
  distanceM: number,
  reflection: Reflection,
): ExposureAtDistance | NearFieldDistance {
  if (distanceM > 0 && distanceM < estimate.validFromM) return { distanceM, inNearField: true }
  const density = (environment: EnvironmentEstimate): number =>
    powerDensityMwCm2(environment.averageEirpW, distanceM, reflection)
  const occupationalMwCm2 = density(estimate.occupational)
  const generalMwCm2 = density(estimate.general)
  return {
    distanceM,
    inNearField: false,
    electricFieldVPerM: electricFieldVPerM(estimate.peakEirpW, distanceM, reflection),
    magneticFieldAPerM: magneticFieldAPerM(estimate.peakEirpW, distanceM, reflection),
    occupationalMwCm2,
    generalMwCm2,
    occupationalShare: occupationalMwCm2 / estimate.occupational.limit.powerDensityMwCm2,
    generalShare: generalMwCm2 / estimate.general.limit.powerDensityMwCm2,
  }
}

/** Where the antenna is; undefined without a height. An antenna of unknown size is taken as a point. */
export const antennaPlace = (site: TransmittingSite): AntennaPlace | undefined =>
  site.antennaHeightM === undefined
    ? undefined
    : { heightM: site.antennaHeightM, sizeM: site.antennaSizeM ?? 0 }

function inEnvironment(
  environment: Environment,
  site: TransmittingSite,
  limits: LimitSet,
  powerAtAntennaW: number,
  validFromM: number,
): EnvironmentEstimate {
  const estimates = limits
    .limitsOf(environment, site.frequencyMHz)
    .map((limit) => underLimit(limit, site, powerAtAntennaW, validFromM))
  return estimates.reduce((a, b) => (b.limitDistanceM > a.limitDistanceM ? b : a))
}

function underLimit(
  limit: ExposureLimit,
  site: TransmittingSite,
  powerAtAntennaW: number,
  validFromM: number,
): EnvironmentEstimate {
  const keyedShare = worstKeyedShare(limit.averagingMinutes * 60, site.dutyLimits)
  const averagePowerAtAntennaW = averagePowerW(powerAtAntennaW, site.modeDutyFactor, keyedShare)
  const averageEirpW = eirpW(averagePowerAtAntennaW, site.antennaGainDbi)
  const limitDistanceM = distanceToLimitM(averageEirpW, limit.powerDensityMwCm2, site.reflection)
  const keepAwayM = averageEirpW === 0 ? 0 : Math.max(limitDistanceM, validFromM)
  const place = antennaPlace(site)
  return {
    limit,
    keyedShare,
    averagePowerAtAntennaW,
    averageEirpW,
    limitDistanceM,
    keepAwayM,
    groundDistanceM:
      place === undefined ? undefined : averageEirpW === 0 ? 0 : groundDistanceM(keepAwayM, place),
    inNearField: averageEirpW > 0 && limitDistanceM < validFromM,
  }
}

function whyNot(site: TransmittingSite, limits: LimitSet): string | undefined {
  const checks: readonly (readonly [string, number | undefined, number, number, string])[] = [
    ['frequency', site.frequencyMHz, limits.fromMHz, limits.toMHz, 'MHz'],
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
    const under = name === 'frequency' ? `(${limits.title} as it stands here)` : ''
    return `${name}: got ${value}, expected from ${from} to ${to} ${unit} ${under}`.trimEnd()
  }
  return undefined
}
