// Where people can stand, seen from an antenna on a mast. Heights are above the ground that people stand on.

/** Top of a standing person that a careful estimate assumes, m (common practice, no source). */
export const standingHeightM = 2

/** Straight distance from the antenna to the top of a person this far from the foot of the mast, m. */
export const slantDistanceM = (
  horizontalM: number,
  antennaHeightM: number,
  personHeightM: number = standingHeightM,
): number => Math.hypot(horizontalM, Math.max(0, antennaHeightM - personHeightM))

/**
 * How far from the foot of the mast a person must stay to be a straight distance away from the antenna.
 * @returns m; 0 where the antenna is high enough that everybody on the ground is at least that far
 */
export function groundDistanceM(
  straightM: number,
  antennaHeightM: number,
  personHeightM: number = standingHeightM,
): number {
  const aboveM = Math.max(0, antennaHeightM - personHeightM)
  return straightM <= aboveM ? 0 : Math.sqrt(straightM ** 2 - aboveM ** 2)
}
