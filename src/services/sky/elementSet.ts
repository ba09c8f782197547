import type { SatRec } from 'satellite.js'

/**
 * Mean orbital elements of one satellite. SGP4's own record takes 3 kB and some microseconds to make, and a list may have
 * 100,000 of them: it is made when a search needs it.
 */
export interface ElementSet {
  readonly name: string
  /** as the file writes it, without leading zeros: '25544' */
  readonly catalogNumber: string
  /** the moment that the elements were made for */
  readonly epochWallMs: number
  /** as Brouwer counts it, which SGP4 makes of the file's (Kozai's) figure */
  readonly meanMotionRadPerMin: number
  readonly eccentricity: number
  readonly inclinationRad: number
  /** right ascension of the ascending node */
  readonly nodeRad: number
  readonly perigeeRad: number
  readonly anomalyRad: number
  /** drag, per earth radius */
  readonly bstar: number
  /** where it can be heard, as a remark of the file says */
  readonly downlinkMHz?: number
  /** of a sample or an exercise: no such satellite exists */
  readonly isInvented?: true
  /** a record of SGP4 for these elements; its library alone looks inside */
  readonly record: () => SatRec
}

const julianDayOf1970 = 2440587.5
const dayMs = 86_400_000

/** The Julian day, with its part: as SGP4 counts time. */
export const julianDayOf = (wallMs: number): number => wallMs / dayMs + julianDayOf1970

/**
 * @param record makes SGP4's record
 * @returns undefined when SGP4 cannot start from these elements
 */
export function elementSetOf(name: string, record: () => SatRec): ElementSet | undefined {
  const first = record()
  const { no, ecco, inclo, nodeo, argpo, mo, bstar } = first
  const epochWallMs = (first.jdsatepoch - julianDayOf1970) * dayMs
  const isSound = [epochWallMs, no, ecco, inclo, nodeo, argpo, mo, bstar].every(Number.isFinite)
  if (first.error !== 0 || !isSound) return undefined
  const catalogNumber = String(first.satnum)
    .trim()
    .replace(/^0+(?=.)/, '')
  return {
    name: name === '' ? catalogNumber : name,
    catalogNumber,
    epochWallMs,
    meanMotionRadPerMin: no,
    eccentricity: ecco,
    inclinationRad: inclo,
    nodeRad: nodeo,
    perigeeRad: argpo,
    anomalyRad: mo,
    bstar,
    record,
  }
}
