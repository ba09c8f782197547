// Where people can stand, seen from an antenna on a mast. Heights are above the ground that people stand on.

/** Top of a standing person that a careful estimate assumes, m (common practice, no source). */
export const standingHeightM = 2

/** An antenna on a mast: the height of its centre, and its largest dimension (0 for a point). */
export interface AntennaPlace {
  readonly heightM: number
  readonly sizeM: number
}

/**
 * How far from the foot of the mast a person must stay for every part of him to be this far from every part of the antenna.
 * The antenna may lie any way round its centre, so it is taken as a ball of its largest dimension; its lowest point decides
 * whether people can walk below it.
 * @param keepAwayM straight distance to be kept from the antenna's nearest part
 * @returns m; 0 where the antenna's lowest point is that far above everybody's head
 */
export function groundDistanceM(
  keepAwayM: number,
  { heightM, sizeM }: AntennaPlace,
  personHeightM: number = standingHeightM,
): number {
  const centreAboveM = Math.max(0, heightM - personHeightM)
  const fromCentreM = keepAwayM + sizeM / 2
  return fromCentreM <= centreAboveM ? 0 : Math.sqrt(fromCentreM ** 2 - centreAboveM ** 2)
}

/** Nearest that anybody on level ground comes to the antenna's lowest point, straight up from the foot of the mast, m. */
export const nearestOnGroundM = (
  { heightM, sizeM }: AntennaPlace,
  personHeightM: number = standingHeightM,
): number => Math.max(0, heightM - sizeM / 2 - personHeightM)
