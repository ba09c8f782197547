import { bad, good, type Result } from '../ax25/result.js'
import { base91Max, decodeBase91, encodeBase91 } from './base91.js'
import type { CompressionType, MapSymbol, PositionDetails } from './types.js'
import { kmhPerKnot, kmPerMile, metersPerFoot } from './units.js'

/*
 * Compressed positions (ch. 9): symbol table, 4 + 4 base-91 characters of latitude and longitude,
 * symbol code, two characters cs and one T. cs is course and speed, or a radio range, or an
 * altitude.
 */

export const compressedLength = 13

const latitudeScale = 380926
const longitudeScale = 190463

/** What cs holds. */
export type CompressedMotion = Pick<
  PositionDetails,
  'courseDeg' | 'speedKmh' | 'rangeKm' | 'altitudeM'
>

export interface CompressedPosition extends CompressedMotion {
  readonly latitudeDeg: number
  readonly longitudeDeg: number
  readonly symbol: MapSymbol
  /** absent when cs is blank, where T means nothing */
  readonly compression?: CompressionType
}

/**
 * Reads the 13 characters. An overlay digit is sent as a letter a to j, and comes out as the digit.
 */
export function parseCompressed(text: string): Result<CompressedPosition> {
  const parts = /^([/\\A-Za-j])([!-{]{4})([!-{]{4})([!-~])(..)(.)/s.exec(text)
  if (parts === null) return bad('not a compressed position')
  const [, tableSent, latitude, longitude, code, cs, t] = parts as unknown as string[]
  const latitudeDeg = decodeCompressedLatitude(latitude!)
  if (!latitudeDeg.ok) return latitudeDeg
  const longitudeDeg = decodeCompressedLongitude(longitude!)
  if (!longitudeDeg.ok) return longitudeDeg
  const compression = decodeCompressionType(t!)
  const table = /[a-j]/.test(tableSent!) ? String(tableSent!.charCodeAt(0) - 0x61) : tableSent!
  const blank = cs!.startsWith(' ') || !compression.ok
  return good({
    latitudeDeg: latitudeDeg.value,
    longitudeDeg: longitudeDeg.value,
    symbol: { table, code: code! },
    ...(blank ? {} : { ...decodeMotion(cs!, compression.value), compression: compression.value }),
  })
}

/** Latitude of four base-91 characters: 90 - value / 380926. */
function decodeCompressedLatitude(text: string): Result<number> {
  const value = decodeBase91(text)
  if (!value.ok) return value
  const degrees = 90 - value.value / latitudeScale
  return degrees < -90 ? bad(`compressed latitude '${text}' is below -90`) : good(degrees)
}

/** Longitude of four base-91 characters: -180 + value / 190463. */
export function decodeCompressedLongitude(text: string): Result<number> {
  const value = decodeBase91(text)
  if (!value.ok) return value
  const degrees = -180 + value.value / longitudeScale
  return degrees > 180 ? bad(`compressed longitude '${text}' is above 180`) : good(degrees)
}

/**
 * Writes the 13 characters. Coordinates are rounded to the nearest step (the text's examples
 * truncate).
 * @param motion course and speed go into cs when both are known, else the altitude, else a range,
 *   else blanks
 * @throws RangeError if a coordinate is out of range
 */
export function formatCompressed(
  latitudeDeg: number,
  longitudeDeg: number,
  symbol: MapSymbol,
  motion: CompressedMotion = {},
): string {
  const table = /[0-9]/.test(symbol.table)
    ? String.fromCharCode(0x61 + Number(symbol.table))
    : symbol.table
  const latitude = encodeBase91(Math.round((90 - latitudeDeg) * latitudeScale), 4)
  const longitude = encodeBase91(Math.round((longitudeDeg + 180) * longitudeScale), 4)
  return table + latitude + longitude + symbol.code + encodeMotion(motion)
}

/** Reads the T octet: how the position came about. */
export function decodeCompressionType(character: string): Result<CompressionType> {
  const value = character.charCodeAt(0) - 33
  if (!(value >= 0 && value < 91)) return bad('not a compression type')
  return good({
    value,
    fix: (value & 0x20) !== 0 ? 'current' : 'old',
    sentence: (['other', 'GLL', 'GGA', 'RMC'] as const)[(value >> 3) & 3]!,
    origin: origins[value & 7]!,
  })
}

/** Reads the cs characters, whose meaning depends on T and on c. */
export function decodeMotion(cs: string, compression: CompressionType): CompressedMotion {
  const [c, s] = [cs.charCodeAt(0) - 33, cs.charCodeAt(1) - 33] as const
  if (!(s >= 0 && s <= 90)) return {}
  if (compression.sentence === 'GGA' && c >= 0 && c <= 90) {
    return { altitudeM: 1.002 ** (c * 91 + s) * metersPerFoot }
  }
  if (cs.startsWith('{')) return { rangeKm: 2 * 1.08 ** s * kmPerMile }
  if (c < 0 || c > 89) return {}
  return { courseDeg: c === 0 ? 360 : c * 4, speedKmh: (1.08 ** s - 1) * kmhPerKnot }
}

/** T: a current fix out of the sentence named, made by software. */
const typeRmc = 0b111010
const typeGga = 0b110010

function encodeMotion({ courseDeg, speedKmh, altitudeM, rangeKm }: CompressedMotion): string {
  const power = (base: number, value: number): number =>
    Math.max(0, Math.log(value) / Math.log(base))
  if (courseDeg !== undefined && speedKmh !== undefined) {
    const c = Math.round(courseDeg / 4) % 90
    const s = Math.min(90, Math.round(power(1.08, speedKmh / kmhPerKnot + 1)))
    return encodeBase91(c * 91 + s, 2) + encodeBase91(typeRmc, 1)
  }
  if (altitudeM !== undefined && altitudeM >= metersPerFoot) {
    const cs = Math.round(power(1.002, altitudeM / metersPerFoot))
    return encodeBase91(Math.min(cs, base91Max(2)), 2) + encodeBase91(typeGga, 1)
  }
  if (rangeKm !== undefined && rangeKm > 0) {
    const s = Math.min(90, Math.round(power(1.08, rangeKm / kmPerMile / 2)))
    return `{${encodeBase91(s, 1)}${encodeBase91(typeRmc, 1)}`
  }
  return '  !'
}

/**
 * Last three bits of T; two makes of equipment that the text names are 'TNC' and 'tracker' here.
 */
const origins = [
  'compressed',
  'TNC beacon text',
  'software',
  'undefined',
  'TNC',
  'tracker',
  'other tracker',
  'digipeater conversion',
]
