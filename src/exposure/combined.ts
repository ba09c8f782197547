// Several transmitters on one site: their shares of the limit add up.
import { antennaPlace, type ExposureEstimate, type TransmittingSite } from './estimate.js'
import { groundDistanceM } from './geometry.js'
import type { Environment } from './limits.js'

/** One of several transmitters that may be keyed at the same time. */
export interface Transmitter {
  readonly site: TransmittingSite
  readonly estimate: ExposureEstimate
}

export interface CombinedEstimate {
  /** nearest that anybody may be to any of the antennas, m */
  readonly keepAwayM: number
  /** the same from the foot of the mast; undefined where an antenna's height is not known */
  readonly groundDistanceM: number | undefined
}

/**
 * Distance at which the shares of all of them come to 1, as if the antennas stood in one place and all beamed at the
 * person: with antennas apart, or beams that miss, the true sum is less. Each share goes with 1 / R^2, so the squares of
 * the limit distances add up.
 * @param transmitters at least one, all estimated under one set of limits
 * @see OET Bulletin 65, multiple transmitters: the sum of the fractions of the limits must stay below 1 (from memory)
 */
export function combinedExposure(
  transmitters: readonly Transmitter[],
  environment: Environment,
): CombinedEstimate {
  const radiating = transmitters.filter(({ estimate }) => estimate[environment].averageEirpW > 0)
  const limitM = Math.hypot(
    ...radiating.map(({ estimate }) => estimate[environment].limitDistanceM),
  )
  const keepAwayM = Math.max(limitM, ...radiating.map(({ estimate }) => estimate.validFromM), 0)
  const ground = radiating.map(({ site }) => {
    const place = antennaPlace(site)
    return place === undefined ? Number.NaN : groundDistanceM(keepAwayM, place)
  })
  const groundM = Math.max(0, ...ground)
  return { keepAwayM, groundDistanceM: Number.isNaN(groundM) ? undefined : groundM }
}

/**
 * Sum of the shares of the limit at one straight distance from all of them.
 * @returns undefined where the distance lies in the near field of one that radiates
 */
export function combinedShare(
  transmitters: readonly Transmitter[],
  environment: Environment,
  distanceM: number,
): number | undefined {
  const radiating = transmitters.filter(({ estimate }) => estimate[environment].averageEirpW > 0)
  if (radiating.some(({ estimate }) => distanceM < estimate.validFromM)) return undefined
  return radiating.reduce(
    (sum, { estimate }) => sum + (estimate[environment].limitDistanceM / distanceM) ** 2,
    0,
  )
}
