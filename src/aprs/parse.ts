import { parseLocator } from './locator.js'
import { parseMessage } from './message.js'
import { parseMicE } from './micE.js'
import { parseNmea } from './nmea.js'
import { parseItem, parseObject } from './object.js'
import { parsePositionReport } from './position.js'
import { parseCapabilities, parseQuery } from './query.js'
import { parseStatus } from './status.js'
import { parseTelemetryReport } from './telemetry.js'
import { octetString, readText } from './text.js'
import { type AprsPayload, unreadable, type Weather } from './types.js'
import { parsePositionlessWeather } from './weather.js'

/** Third-party payloads inside third-party payloads are read this deep. */
const thirdPartyDepthMax = 3

const lineEnds = [0x0d, 0x0a, 0x00]

/** A position may begin in the text of old digipeaters, up to here (ch. 5, from memory). */
const latePositionMax = 40

/**
 * Reads the information field of a UI frame. Never throws: what cannot be read is 'unreadable',
 * with the reason.
 * @param destination the frame's destination, `N0CALL-7`: Mic-E keeps half of its position there
 */
export function parsePayload(payload: Uint8Array, destination: string): AprsPayload {
  // The text wants no line end there; some senders add one, or the NUL that ends their strings.
  let end = payload.length
  while (end > 0 && lineEnds.includes(payload[end - 1]!)) end--
  return parseText(octetString(payload.subarray(0, end)), destination, 0)
}

/**
 * Where the sender itself is; undefined for objects and items (which are somewhere else), for
 * third-party payloads, and for the standard's null position, 0 N 0 W.
 */
export function positionOf(payload: AprsPayload):
  | {
      readonly latitudeDeg: number
      readonly longitudeDeg: number
      readonly ambiguityDigits: number
    }
  | undefined {
  if (payload.kind === 'position' || payload.kind === 'micE') {
    const { latitudeDeg, longitudeDeg, ambiguityDigits } = payload.position
    if (latitudeDeg === 0 && longitudeDeg === 0) return undefined
    return { latitudeDeg, longitudeDeg, ambiguityDigits }
  }
  if (payload.kind === 'nmea' && payload.waypoint === undefined) {
    const { latitudeDeg, longitudeDeg } = payload
    if (latitudeDeg === undefined || longitudeDeg === undefined) return undefined
    return { latitudeDeg, longitudeDeg, ambiguityDigits: 0 }
  }
  if (payload.kind === 'locator' || payload.kind === 'status') {
    const centre = parseLocator(payload.locator ?? '')?.centre
    if (centre === undefined) return undefined
    // A square of 2 by 1 degrees is as vague as four blank digits, one of 5 by 2.5 minutes as
    // three.
    return { ...centre, ambiguityDigits: payload.locator!.length > 4 ? 3 : 4 }
  }
  return undefined
}

/**
 * Weather that the sender measured, with or without a position; undefined for objects and items.
 */
export function weatherOf(payload: AprsPayload): Weather | undefined {
  return payload.kind === 'weather' || payload.kind === 'position' ? payload.weather : undefined
}

function parseText(text: string, destination: string, depth: number): AprsPayload {
  switch (text[0]) {
    case undefined:
      return unreadable('empty payload')
    case '!':
      return text[1] === '!' ? rawWeather(text) : parsePositionReport(text)
    case '=':
    case '/':
    case '@':
      return parsePositionReport(text)
    case '`':
    case "'":
    case '\x1c':
    case '\x1d':
      return parseMicE(text, destination)
    case ':':
      return parseMessage(text)
    case ';':
      return parseObject(text)
    case ')':
      return parseItem(text)
    case '>':
      return parseStatus(text)
    case '?':
      return parseQuery(text)
    case '<':
      return parseCapabilities(text)
    case '_':
      return parsePositionlessWeather(text)
    case 'T':
      return text[1] === '#' ? parseTelemetryReport(text) : parseLatePosition(text)
    case '#':
    case '*':
      return rawWeather(text)
    case '$':
      return text.startsWith('$ULT') ? rawWeather(text) : parseNmea(text)
    case '}':
      return parseThirdParty(text, depth)
    case '[':
      return parseLocatorBeacon(text)
    case '{':
      return parseUserDefined(text)
    case ',':
      return { kind: 'test', data: readText(text.slice(1)) }
    default:
      return parseLatePosition(text)
  }
}

/** Octets of a weather station: hex digits and dashes after the identifier. */
function rawWeather(text: string): AprsPayload {
  if (!/^(?:!!|#|\*|\$ULTW?)[0-9A-Fa-f-]{8,}/.test(text)) {
    return unreadable('neither a position nor the record of a weather station')
  }
  return { kind: 'rawWeather', record: text }
}

function parseLatePosition(text: string): AprsPayload {
  const at = text.slice(0, latePositionMax).indexOf('!')
  if (at > 0) {
    const position = parsePositionReport(text.slice(at))
    if (position.kind === 'position') return position
  }
  const code = text.charCodeAt(0)
  const shown = code > 0x20 && code < 0x7f ? `'${text[0]}'` : `octet ${code.toString(16)}`
  return unreadable(`no data type begins with ${shown}`)
}

/** A frame from elsewhere (ch. 17): `}FROM>TO,NETWORK,GATEWAY*:payload`. */
function parseThirdParty(text: string, depth: number): AprsPayload {
  if (depth >= thirdPartyDepthMax) return unreadable('third-party payloads nested too deep')
  const parts =
    /^\}([!-+.-9;=?-~-]{1,9})>([!-+.-9;=?-~-]{1,9})((?:,[!-+.-9;=?-~*-]{1,10})*):(.*)$/s.exec(text)
  if (parts === null) return unreadable('third-party payload without FROM>TO,PATH: in front')
  const [, source, destination, path, inner] = parts as unknown as [
    string,
    string,
    string,
    string,
    string,
  ]
  return {
    kind: 'thirdParty',
    source,
    destination,
    path: path.split(',').slice(1),
    payload: parseText(inner, destination, depth + 1),
  }
}

/** Obsolete: `[IO91SX] 35 miles NNW of London` (ch. 8). */
function parseLocatorBeacon(text: string): AprsPayload {
  const parts = /^\[([A-R]{2}\d\d(?:[A-X]{2})?)\](.*)$/is.exec(text)
  if (parts === null) return unreadable('locator beacon without a locator in brackets')
  return { kind: 'locator', locator: parts[1]!.toUpperCase(), comment: readText(parts[2]!) }
}

/** `{Q1qwerty`: a user's identifier, a packet type, data; `{{` is experimental (ch. 19). */
function parseUserDefined(text: string): AprsPayload {
  if (text.length < 3) return unreadable('user-defined payload without its two identifiers')
  const [userId, packetType] = [text[1]!, text[2]!]
  const data = readText(text.slice(3))
  return { kind: 'userDefined', userId, packetType, data, experimental: userId === '{' }
}
