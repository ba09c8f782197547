import { bad, good, type Result } from '../ax25/result.js'
import type { AntennaReport, BearingReport, SignalReport } from './types.js'
import { kmhPerKnot, kmPerMile, metersPerFoot } from './units.js'

/*
 * The data extensions: seven characters directly after the symbol of an uncompressed position (ch.
 * 7).
 */

export const extensionLength = 7

/**
 * Two fields of three digits, `088/036`; undefined where a field is dots or blanks.
 * What they are, the symbol tells: course and speed in knots, or for a weather station wind
 * direction and speed.
 */
export function parsePair(
  text: string,
): Result<{ readonly first: number | undefined; readonly second: number | undefined }> {
  const parts = /^(\d{3}|\.{3}| {3})\/(\d{3}|\.{3}| {3})/.exec(text)
  if (parts === null) return bad('not two fields of three digits')
  const [first, second] = parts
    .slice(1, 3)
    .map((field) => (/\d/.test(field) ? Number(field) : undefined))
  return good({ first, second })
}

/** Course 1 to 360 (360 is north, 0 unknown) and speed in knots out of a pair; `000/000` says that neither is known (ch. 7). */
export function courseAndSpeed(pair: {
  readonly first: number | undefined
  readonly second: number | undefined
}): { courseDeg?: number; speedKmh?: number } {
  const { first, second } = pair
  if (first === 0 && second === 0) return {}
  const courseKnown = first !== undefined && first >= 1 && first <= 360
  return {
    ...(courseKnown ? { courseDeg: first } : {}),
    ...(second === undefined ? {} : { speedKmh: second * kmhPerKnot }),
  }
}

/** `PHG5132`, optionally with a beacon rate as in `PHG51321/` (addendum 1.1). */
export function parseAntenna(text: string): Result<AntennaReport & { readonly length: number }> {
  const parts = /^PHG(\d)([0-~])(\d)(\d)(?:([0-9A-Z])\/)?/.exec(text)
  if (parts === null) return bad('not PHG')
  const rate = parts[5]
  return good({
    powerW: Number(parts[1]) ** 2,
    heightAboveTerrainM: heightM(parts[2]!),
    gainDb: Number(parts[3]),
    directionDeg: direction(parts[4]!),
    // Letters go on after 9, as the addendum counts.
    ...(rate === undefined ? {} : { beaconsPerHour: Number.parseInt(rate, 36) }),
    length: parts[0].length,
  })
}

/** `DFS2360`. */
export function parseSignal(text: string): Result<SignalReport> {
  const parts = /^DFS(\d)([0-~])(\d)(\d)/.exec(text)
  if (parts === null) return bad('not DFS')
  return good({
    strengthS: Number(parts[1]),
    heightAboveTerrainM: heightM(parts[2]!),
    gainDb: Number(parts[3]),
    directionDeg: direction(parts[4]!),
  })
}

/** `RNG0050`: radio range, miles on the air. */
export function parseRangeKm(text: string): Result<number> {
  const parts = /^RNG(\d{4})/.exec(text)
  return parts === null ? bad('not RNG') : good(Number(parts[1]) * kmPerMile)
}

/** `/270/729`: bearing, then N, R and Q. */
export function parseBearing(text: string): Result<BearingReport> {
  const parts = /^\/(\d{3})\/(\d)(\d)(\d)/.exec(text)
  if (parts === null) return bad('not BRG/NRQ')
  const [bearingDeg, hits, rangeDigit, quality] = parts.slice(1).map(Number) as [
    number,
    number,
    number,
    number,
  ]
  if (bearingDeg > 360) return bad(`bearing ${bearingDeg} is more than 360`)
  const accuracyDeg = accuracies[quality]
  return good({
    bearingDeg,
    hits,
    rangeDigit,
    rangeKm: 2 ** rangeDigit * kmPerMile,
    quality,
    ...(accuracyDeg === undefined ? {} : { accuracyDeg }),
  })
}

/**
 * Radius of the circle that PHG stands for: sqrt(2 h sqrt((p / 10) (g / 2))) miles, h in feet, g as
 * a ratio (ch. 7). The text shifts it by a third towards the antenna's direction.
 */
export function antennaRangeKm(antenna: AntennaReport): number {
  const heightFt = antenna.heightAboveTerrainM / metersPerFoot
  const gain = 10 ** (antenna.gainDb / 10)
  return Math.sqrt(2 * heightFt * Math.sqrt((antenna.powerW / 10) * (gain / 2))) * kmPerMile
}

/** Width of the beam by Q, in degrees (ch. 7); Q = 0 is useless. */
const accuracies = [undefined, 240, 120, 64, 32, 16, 8, 4, 2, 1]

/** 10 ft times 2 to the power of the digit; digits go on after 9 as `:` `;` ... */
function heightM(digit: string): number {
  return 10 * 2 ** (digit.charCodeAt(0) - 0x30) * metersPerFoot
}

function direction(digit: string): AntennaReport['directionDeg'] {
  if (digit === '0') return 'omni'
  return digit === '9' ? 'undefined' : Number(digit) * 45
}
