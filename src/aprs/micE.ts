import { bad, good, type Result } from '../ax25/result.js'
import { decodeBase91 } from './base91.js'
import { readComment } from './comment.js'
import {
  type MicEPayload,
  type Position,
  type TelemetryValues,
  type UnreadablePayload,
  unreadable,
} from './types.js'
import { kmhPerKnot } from './units.js'

/*
 * Mic-E (ch. 10): latitude, status and some flags sit in the destination address; longitude, course
 * and speed in the eight octets after the data type identifier.
 */

const micEOctetCountMin = 9

/** What the destination address says. */
export interface MicEDestination {
  /** `3325.64`, blanks kept */
  readonly latitudeDigits: string
  /** north positive, blanks as zeros */
  readonly latitudeDeg: number
  readonly ambiguityDigits: number
  /** digits stand behind a blank */
  readonly scattered: boolean
  readonly statusCode: string
  readonly north: boolean
  readonly longitudeOffset: 0 | 100
  readonly west: boolean
}

/**
 * Reads the six characters of the destination's call.
 * @param destination call, with or without SSID
 */
export function decodeMicEDestination(destination: string): Result<MicEDestination> {
  const call = destination.replace(/-.*$/, '')
  if (!/^[0-9A-LP-Z]{3}[0-9LP-Z]{3}$/.test(call)) {
    return bad(`'${call}' is not a Mic-E destination`)
  }
  const characters = [...call].map(decodeCharacter)
  const digits = characters.map((character) => character.digit).join('')
  const blanks = /^[0-9]*( *)$/.exec(digits)
  const latitude = Number(digits.slice(0, 2).replaceAll(' ', '0'))
  const minutes = Number(digits.slice(2).replaceAll(' ', '0')) / 100
  const latitudeDeg = latitude + minutes / 60
  if (minutes >= 60) return bad(`Mic-E latitude ${digits} has ${minutes} minutes`)
  if (latitudeDeg > 90) return bad(`Mic-E latitude ${digits} is more than 90 degrees`)
  const north = characters[3]!.high
  return good({
    latitudeDigits: `${digits.slice(0, 4)}.${digits.slice(4)}`,
    latitudeDeg: north || latitudeDeg === 0 ? latitudeDeg : -latitudeDeg,
    // Blanks belong to the end; where one stands in front of a digit, count from the first of them.
    ambiguityDigits: blanks === null ? 6 - digits.indexOf(' ') : blanks[1]!.length,
    scattered: blanks === null,
    statusCode: statusOf(characters.slice(0, 3)),
    north,
    longitudeOffset: characters[4]!.high ? 100 : 0,
    west: characters[5]!.high,
  })
}

/**
 * Longitude degrees, minutes and hundredths of the first three octets; east positive only by the
 * caller's flag.
 */
export function decodeMicELongitude(octets: string, offset: 0 | 100): Result<number> {
  let degrees = octets.charCodeAt(0) - 28 + offset
  if (degrees >= 190 && degrees <= 199) degrees -= 190
  else if (degrees >= 180 && degrees <= 189) degrees -= 80
  let minutes = octets.charCodeAt(1) - 28
  if (minutes >= 60) minutes -= 60
  const hundredths = octets.charCodeAt(2) - 28
  const inRange = degrees >= 0 && degrees <= 179 && minutes >= 0 && minutes <= 59
  if (!inRange || hundredths < 0 || hundredths > 99) return bad('Mic-E longitude out of range')
  return good(degrees + (minutes + hundredths / 100) / 60)
}

/** Speed in knots and course (0 unknown, 360 north) of the octets SP, DC and SE. */
export function decodeMicEMotion(
  octets: string,
): Result<{ speedKnots: number; courseDeg: number }> {
  const [sp, dc, se] = [0, 1, 2].map((at) => octets.charCodeAt(at) - 28) as [number, number, number]
  if (!(sp >= 0 && dc >= 0 && se >= 0)) return bad('Mic-E course and speed out of range')
  let speedKnots = sp * 10 + Math.floor(dc / 10)
  let courseDeg = (dc % 10) * 100 + se
  if (speedKnots >= 800) speedKnots -= 800
  if (courseDeg >= 400) courseDeg -= 400
  return good({ speedKnots, courseDeg })
}

/**
 * Reads a Mic-E report, from its data type identifier on.
 * @param destination of the frame, which holds the latitude
 */
export function parseMicE(text: string, destination: string): MicEPayload | UnreadablePayload {
  if (text.length < micEOctetCountMin) return unreadable('Mic-E report shorter than nine octets')
  const head = decodeMicEDestination(destination)
  if (!head.ok) return unreadable(head.reason)
  // Ambiguity blanks at most four digits, from the end; anything else is no Mic-E sender.
  if (!/^\d\d[\d ]{2}\.[\d ]{2}$/.test(head.value.latitudeDigits) || head.value.scattered) {
    return unreadable(`'${destination}' has blanks among its Mic-E latitude digits`)
  }
  const longitude = decodeMicELongitude(text.slice(1, 4), head.value.longitudeOffset)
  if (!longitude.ok) return unreadable(longitude.reason)
  const motion = decodeMicEMotion(text.slice(4, 7))
  if (!motion.ok) return unreadable(motion.reason)
  const [code, table] = [text[7]!, text[8]!]
  if (!/^[!-~]$/.test(code) || !/^[/\\0-9A-Z]$/.test(table)) {
    return unreadable('Mic-E report without a symbol')
  }
  const { latitudeDeg, ambiguityDigits, statusCode, west } = head.value
  const position: Position = {
    latitudeDeg,
    longitudeDeg: west && longitude.value !== 0 ? -longitude.value : longitude.value,
    ambiguityDigits,
    symbol: { table, code },
    encoding: 'Mic-E',
  }
  const { courseDeg, speedKnots } = motion.value
  const courseKnown = courseDeg >= 1 && courseDeg <= 360
  return {
    kind: 'micE',
    statusCode,
    emergency: statusCode === 'Emergency',
    fix: text[0] === '`' || text[0] === '\x1c' ? 'current' : 'old',
    ...(courseKnown ? { courseDeg } : {}),
    speedKmh: speedKnots * kmhPerKnot,
    ...readStatusText(text.slice(micEOctetCountMin), position),
  }
}

interface DestinationCharacter {
  readonly digit: string
  readonly bit: '0' | 'standard' | 'custom'
  /** north, plus 100 degrees, west: what P to Z mean in the last three */
  readonly high: boolean
}

function decodeCharacter(character: string): DestinationCharacter {
  if (/\d/.test(character)) return { digit: character, bit: '0', high: false }
  if (character === 'L') return { digit: ' ', bit: '0', high: false }
  if (character === 'K') return { digit: ' ', bit: 'custom', high: false }
  if (character === 'Z') return { digit: ' ', bit: 'standard', high: true }
  const custom = character < 'K'
  const digit = String(character.charCodeAt(0) - (custom ? 0x41 : 0x50))
  return { digit, bit: custom ? 'custom' : 'standard', high: !custom }
}

const statusNames = [
  'Emergency',
  'Priority',
  'Special',
  'Committed',
  'Returning',
  'In Service',
  'En Route',
  'Off Duty',
]

/** Three bits; ones of both kinds mixed mean nothing. */
function statusOf(characters: readonly DestinationCharacter[]): string {
  const bits = characters.map((character) => character.bit)
  const custom = bits.includes('custom')
  if (custom && bits.includes('standard')) return 'unknown'
  const value = bits.reduce((sum, bit) => sum * 2 + (bit === '0' ? 0 : 1), 0)
  if (value === 0) return 'Emergency'
  return custom ? `C${7 - value}: Custom-${7 - value}` : `M${7 - value}: ${statusNames[value]}`
}

type StatusText = Pick<
  MicEPayload,
  | 'position'
  | 'telemetry'
  | 'altitudeM'
  | 'frequency'
  | 'comment'
  | 'messaging'
  | 'radioPrefix'
  | 'radioSuffix'
  | 'locator'
>

function readStatusText(text: string, position: Position): StatusText {
  const legacy = findLegacyTelemetry(text)
  const radio = findRadio(legacy?.rest ?? text)
  const altitude = /^([!-{]{3})\}/.exec(radio.rest)
  const altitudeM = altitude === null ? undefined : decodeBase91(altitude[1]!)
  const afterAltitude = altitudeM?.ok ? radio.rest.slice(4) : radio.rest
  const locator = /^([A-R]{2}\d\d(?:[A-Xa-x]{2})?)([/\\])([!-~])(?: (.*))?$/s.exec(afterAltitude)
  const comment = readComment(locator === null ? afterAltitude : (locator[4] ?? ''), position)
  return {
    ...(altitudeM?.ok ? { altitudeM: altitudeM.value - 10_000 } : {}),
    ...(legacy === undefined ? {} : { telemetry: legacy.telemetry }),
    ...comment,
    messaging: radio.messaging,
    ...(radio.prefix === undefined ? {} : { radioPrefix: radio.prefix }),
    ...(radio.suffix === undefined ? {} : { radioSuffix: radio.suffix }),
    ...(locator === null ? {} : { locator: locator[1]! }),
  }
}

/**
 * The characters that tell a radio's kind (1.2 addition to ch. 10): `>` or `]` with perhaps one
 * character at the end, or a grave accent (takes messages) or apostrophe (does not) with two. A
 * blank means a radio of the first kind.
 */
function findRadio(text: string): {
  readonly rest: string
  readonly messaging: boolean | 'unknown'
  readonly prefix?: string
  readonly suffix?: string
} {
  const prefix = text[0]
  if (prefix === '>' || prefix === ']') {
    const suffix = /[=^&]$/.exec(text)?.[0]
    const rest = text.slice(1, suffix === undefined ? undefined : -1)
    return { rest, messaging: true, prefix, ...(suffix === undefined ? {} : { suffix }) }
  }
  if ((prefix === '`' || prefix === "'") && text.length >= 3) {
    const messaging = prefix === '`'
    return { rest: text.slice(1, -2), messaging, prefix, suffix: text.slice(-2) }
  }
  if (prefix === ' ') return { rest: text.slice(1), messaging: 'unknown', prefix }
  return { rest: text, messaging: 'unknown' }
}

/**
 * Obsolete telemetry: an apostrophe with five channels or a grave accent with two (1 and 3), two
 * hex digits each.
 */
export function findLegacyTelemetry(
  text: string,
): { readonly telemetry: TelemetryValues; readonly rest: string } | undefined {
  const parts = /^(?:'([0-9A-F]{10})|`([0-9A-F]{4}))(?![0-9A-F])(.*)$/s.exec(text)
  if (parts === null) return undefined
  const values = (parts[1] ?? parts[2])!.match(/../g)!.map((pair) => Number.parseInt(pair, 16))
  const analog = parts[1] === undefined ? [values[0], undefined, values[1]] : values
  return { telemetry: { sequence: 'MIC', analog, digital: [] }, rest: parts[3]! }
}
