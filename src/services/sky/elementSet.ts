import type { SatRec } from 'satellite.js'

/** Mean orbital elements of one satellite, ready for SGP4. */
export interface ElementSet {
  readonly name: string
  /** as the file writes it, without leading zeros: '25544' */
  readonly catalogNumber: string
  /** the moment that the elements were made for */
  readonly epochWallMs: number
  /** SGP4's own record; its library alone looks inside */
  readonly record: SatRec
}

const julianDayOf1970 = 2440587.5

/**
 * Wraps a record that the library has initialized.
 * @returns undefined when SGP4 cannot start from these elements
 */
export function elementSetOf(name: string, record: SatRec): ElementSet | undefined {
  const epochWallMs = (record.jdsatepoch - julianDayOf1970) * 86_400_000
  if (record.error !== 0 || !Number.isFinite(epochWallMs)) return undefined
  const catalogNumber = String(record.satnum)
    .trim()
    .replace(/^0+(?=.)/, '')
  return { name: name === '' ? catalogNumber : name, catalogNumber, epochWallMs, record }
}
