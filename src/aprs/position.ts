import { bad, good, type Result } from '../ax25/result.js'
import { parseArea } from './area.js'
import { readComment } from './comment.js'
import { compressedLength, parseCompressed } from './compressed.js'
import { latitudeLength, longitudeLength, parseLatitude, parseLongitude } from './coordinates.js'
import {
  courseAndSpeed,
  extensionLength,
  parseAntenna,
  parseBearing,
  parsePair,
  parseRangeKm,
  parseSignal,
} from './extension.js'
import { parseStorm } from './storm.js'
import { parseTimestamp, timestampLength } from './timestamp.js'
import {
  type Position,
  type PositionDetails,
  type PositionPayload,
  type UnreadablePayload,
  unreadable,
  type Weather,
} from './types.js'
import { kmhPerKnot, mpsPerKnot, mpsPerMph } from './units.js'
import { findWeather } from './weather.js'

/** Reads a position report, from its data type identifier `!`, `=`, `/` or `@` on (ch. 8 and 9). */
export function parsePositionReport(text: string): PositionPayload | UnreadablePayload {
  const type = text[0]!
  const timed = type === '/' || type === '@'
  const messaging = type === '=' || type === '@'
  const details = timed ? parseTimedDetails(text.slice(1)) : parseDetails(text.slice(1))
  if (!details.ok) return unreadable(details.reason)
  return { kind: 'position', messaging, ...details.value }
}

/**
 * A timestamp, then a position. A damaged or missing time does not spoil the place: it is left out
 * and named in `problem`. (Ch. 11 prints an object without a time although it wants one in every
 * object.)
 * @param name of the object, which may hold a frequency
 */
export function parseTimedDetails(text: string, name?: string): Result<PositionDetails> {
  const time = text.slice(0, timestampLength)
  if (!/[zh/]$/.test(time) || /^[/\\]/.test(time)) {
    const untimed = parseDetails(text, name)
    if (untimed.ok) return good({ ...untimed.value, problem: 'no time' })
  }
  const details = parseDetails(text.slice(timestampLength), name)
  if (!details.ok) return details
  const timestamp = parseTimestamp(time)
  if (!timestamp.ok) return good({ ...details.value, problem: timestamp.reason })
  return good({ ...details.value, timestamp: timestamp.value })
}

/** A position in either form and everything that follows it. */
export function parseDetails(text: string, name?: string): Result<PositionDetails> {
  const read = /^[\d ]/.test(text) ? readUncompressed(text) : readCompressed(text)
  if (!read.ok) return read
  const { position, details, rest } = read.value
  const comment = readComment(rest, position, name)
  return good({ ...details, ...comment })
}

/** What was read so far, and the text after it. */
interface PartlyRead {
  readonly position: Position
  readonly details: Partial<PositionDetails>
  readonly rest: string
}

const codeAt = latitudeLength + 1 + longitudeLength

function readUncompressed(text: string): Result<PartlyRead> {
  const latitude = parseLatitude(text.slice(0, latitudeLength))
  if (!latitude.ok) return latitude
  const longitude = parseLongitude(text.slice(latitudeLength + 1, codeAt))
  if (!longitude.ok) return longitude
  const table = text[latitudeLength]!
  const code = text[codeAt]
  if (!/^[/\\0-9A-Z]$/.test(table)) return bad(`'${table}' is not a symbol table`)
  if (code === undefined || !/^[!-~]$/.test(code)) return bad('position without a symbol')
  const position: Position = {
    latitudeDeg: latitude.value.degrees,
    longitudeDeg: longitude.value.degrees,
    ambiguityDigits: Math.max(latitude.value.ambiguityDigits, longitude.value.ambiguityDigits),
    symbol: { table, code },
    encoding: 'uncompressed',
  }
  return good({ position, ...readExtension(text.slice(codeAt + 1), position) })
}

function readCompressed(text: string): Result<PartlyRead> {
  const compressed = parseCompressed(text)
  if (!compressed.ok) return bad('neither an uncompressed nor a compressed position')
  const { latitudeDeg, longitudeDeg, symbol, ...motion } = compressed.value
  const position: Position = {
    latitudeDeg,
    longitudeDeg,
    ambiguityDigits: 0,
    symbol,
    encoding: 'compressed',
  }
  const rest = text.slice(compressedLength)
  if (symbol.code !== '_') {
    return good({ position, ...withBearing(rest, position, motion) })
  }
  // A weather station's course and speed are its wind.
  const { courseDeg, speedKmh, ...others } = motion
  const wind = {
    ...(courseDeg === undefined ? {} : { windDirectionDeg: courseDeg }),
    ...(speedKmh === undefined ? {} : { windSpeedMps: (speedKmh / kmhPerKnot) * mpsPerKnot }),
  }
  return good({ position, ...withWeather(rest, wind, others) })
}

type Extended = Pick<PartlyRead, 'details' | 'rest'>

function readExtension(text: string, position: Position): Extended {
  const { table, code } = position.symbol
  if (code === '_') return readWeatherExtension(text)
  if (table === '\\' && code === 'l') {
    const area = parseArea(text)
    if (area.ok) return { details: { area: area.value.area }, rest: area.value.rest }
    return { details: { problem: area.reason }, rest: text }
  }
  if (table === '\\' && code === 'm') {
    const signpost = /^\{([^}]{1,3})\}/.exec(text)
    if (signpost !== null) {
      return { details: { signpost: signpost[1]! }, rest: text.slice(signpost[0].length) }
    }
  }
  const antenna = parseAntenna(text)
  if (antenna.ok) {
    const { length, ...value } = antenna.value
    return { details: { antenna: value }, rest: text.slice(length) }
  }
  const rest = text.slice(extensionLength)
  const rangeKm = parseRangeKm(text)
  if (rangeKm.ok) return { details: { rangeKm: rangeKm.value }, rest }
  const signal = parseSignal(text)
  if (signal.ok) return withBearing(rest, position, { signal: signal.value })
  const pair = parsePair(text)
  if (pair.ok) {
    const extended = withBearing(rest, position, courseAndSpeed(pair.value))
    // A direction finder's 000/000 says that it stands (the example of ch. 8); anybody else's that it does not know.
    if (extended.details.bearing !== undefined && pair.value.second === 0)
      return { ...extended, details: { ...extended.details, speedKmh: 0 } }
    return extended
  }
  return withBearing(text, position, {})
}

/** Bearings follow the extension of a direction finder's symbol, storms the one of a storm's. */
function withBearing(
  text: string,
  position: Position,
  details: Partial<PositionDetails>,
): Extended {
  const { table, code } = position.symbol
  if (table === '/' && code === '\\') {
    const bearing = parseBearing(text)
    if (bearing.ok) {
      return {
        details: { ...details, bearing: bearing.value },
        rest: text.slice('/270/729'.length),
      }
    }
  }
  if (code === '@') {
    const storm = parseStorm(text)
    if (storm.ok)
      return { details: { ...details, storm: storm.value.storm }, rest: storm.value.rest }
  }
  return { details, rest: text }
}

function readWeatherExtension(text: string): Extended {
  const pair = parsePair(text)
  if (!pair.ok) return withWeather(text, undefined, {})
  const { first, second } = pair.value
  const wind = {
    ...(first === undefined || first > 360 ? {} : { windDirectionDeg: first }),
    ...(second === undefined ? {} : { windSpeedMps: second * mpsPerMph }),
  }
  return withWeather(text.slice(extensionLength), wind, {})
}

function withWeather(
  text: string,
  wind: Weather | undefined,
  details: Partial<PositionDetails>,
): Extended {
  const { weather, rest } = findWeather(text, wind !== undefined)
  const all = { ...wind, ...weather }
  return Object.keys(all).length === 0
    ? { details, rest: text }
    : { details: { ...details, weather: all }, rest }
}
