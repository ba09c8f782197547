import { bad, good, type Result } from '../ax25/result.js'

/**
 * Centre of a Maidenhead locator of four or six characters.
 * @see IARU Region 1 locator system, from memory; checked in test/published
 */
export function locatorCenter(
  locator: string,
): Result<{ readonly latitudeDeg: number; readonly longitudeDeg: number }> {
  const parts = /^([A-R])([A-R])(\d)(\d)(?:([A-X])([A-X]))?$/.exec(locator.toUpperCase())
  if (parts === null) return bad(`'${locator}' is not a locator of 4 or 6 characters`)
  const letter = (index: number): number => parts[index]!.charCodeAt(0) - 0x41
  const fine = parts[5] !== undefined
  const longitude = letter(1) * 20 + Number(parts[3]) * 2 + (fine ? (letter(5) + 0.5) / 12 : 1)
  const latitude = letter(2) * 10 + Number(parts[4]) + (fine ? (letter(6) + 0.5) / 24 : 0.5)
  return good({ latitudeDeg: latitude - 90, longitudeDeg: longitude - 180 })
}
