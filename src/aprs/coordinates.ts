import { bad, good, type Result } from '../ax25/result.js'

/*
 * Latitude and longitude in degrees, minutes and hundredths (ch. 6). Blanks at the end make a
 * position ambiguous. 1.0.1 reads that as a box, addendum 1.1 as a circle about the digits given.
 * The values here are those of the digits given, blanks as zeros; ambiguityRadiusKm follows the
 * addendum.
 */

export const latitudeLength = 8
export const longitudeLength = 9

/** One coordinate as sent. */
export interface Coordinate {
  /** north and east positive */
  readonly degrees: number
  /** blank digits, 0 to 4 */
  readonly ambiguityDigits: number
}

/** Reads `4903.50N`; blanks from the right make it ambiguous. */
export function parseLatitude(text: string): Result<Coordinate> {
  return parseCoordinate(text, /^(\d\d)([\d ]{2}\.[\d ]{2})([NSns])$/, 90, 'latitude')
}

/** Reads `07201.75W`. */
export function parseLongitude(text: string): Result<Coordinate> {
  return parseCoordinate(text, /^(\d{3})([\d ]{2}\.[\d ]{2})([EWew])$/, 180, 'longitude')
}

/**
 * Writes `4903.50N`.
 * @param latitudeDeg -90 to 90
 * @param ambiguityDigits how many digits to blank, 0 to 4
 */
export function formatLatitude(latitudeDeg: number, ambiguityDigits = 0): string {
  checkRange(latitudeDeg, 90, 'latitude')
  return formatCoordinate(latitudeDeg, 2, ambiguityDigits) + (latitudeDeg < 0 ? 'S' : 'N')
}

/** Writes `07201.75W`; -180 to 180. */
export function formatLongitude(longitudeDeg: number, ambiguityDigits = 0): string {
  checkRange(longitudeDeg, 180, 'longitude')
  return formatCoordinate(longitudeDeg, 3, ambiguityDigits) + (longitudeDeg < 0 ? 'W' : 'E')
}

/** Size of the last digit given, in minutes, by the count of blanks. */
export const ambiguityMinutes = [0.01, 0.1, 1, 10, 60] as const

/**
 * Radius of the circle that addendum 1.1 wants drawn: 0.1, 1, 10 or 60 nautical miles; 0 where
 * nothing is blank.
 */
export function ambiguityRadiusKm(ambiguityDigits: number): number {
  return ambiguityDigits === 0 ? 0 : (ambiguityMinutes[ambiguityDigits] ?? 60) * 1.852
}

function parseCoordinate(
  text: string,
  form: RegExp,
  degreesMax: number,
  what: string,
): Result<Coordinate> {
  const parts = form.exec(text)
  if (parts === null) return bad(`'${text}' is not a ${what}`)
  const blanks = /^\d*( *)$/.exec(parts[2]!.replace('.', ''))
  if (blanks === null) return bad(`${what} '${text}' has digits after a blank`)
  const minutes = Number(parts[2]!.replaceAll(' ', '0'))
  if (minutes >= 60) return bad(`${what} '${text}' has ${minutes} minutes`)
  const degrees = Number(parts[1]) + minutes / 60
  if (degrees > degreesMax) return bad(`${what} '${text}' is more than ${degreesMax} degrees`)
  const negative = /[SWsw]/.test(parts[3]!)
  return good({
    degrees: negative && degrees !== 0 ? -degrees : degrees,
    ambiguityDigits: blanks[1]!.length,
  })
}

function formatCoordinate(degrees: number, digitCount: number, ambiguityDigits: number): string {
  const hundredths = Math.round(Math.abs(degrees) * 6000)
  const whole = String(Math.floor(hundredths / 6000)).padStart(digitCount, '0')
  const digits = String(hundredths % 6000).padStart(4, '0')
  const given = digits.slice(0, 4 - ambiguityDigits).padEnd(4, ' ')
  return `${whole}${given.slice(0, 2)}.${given.slice(2)}`
}

function checkRange(degrees: number, degreesMax: number, what: string): void {
  if (!(Math.abs(degrees) <= degreesMax)) {
    throw new RangeError(`${what}: got ${degrees}, expected -${degreesMax} to ${degreesMax}`)
  }
}
