import { bad, good, type Result } from '../ax25/result.js'
import { type NmeaPayload, type UnreadablePayload, unreadable } from './types.js'
import { kmhPerKnot } from './units.js'

/*
 * Raw NMEA 0183 sentences as a position (ch. 8): GGA, GLL, RMC, VTG and WPL. The checksum is
 * checked where there is one.
 */

/** Reads a sentence, from the `$` on. */
export function parseNmea(text: string): NmeaPayload | UnreadablePayload {
  const parts = /^\$([A-Z]{2}([A-Z]{3}),([^*]*))(?:\*([0-9A-F]{2}))?$/i.exec(text.trimEnd())
  if (parts === null) return unreadable('not an NMEA sentence')
  const [, body, type, , checksum] = parts as unknown as [string, string, string, string, string?]
  if (checksum !== undefined && nmeaChecksum(body) !== Number.parseInt(checksum, 16)) {
    return unreadable('NMEA sentence with a wrong checksum')
  }
  const sentence = type.toUpperCase()
  const read = readers[sentence]
  if (read === undefined) return unreadable(`NMEA sentence ${sentence} is not a position`)
  const values = read(parts[3]!.split(','))
  if (!values.ok) return unreadable(`NMEA ${sentence}: ${values.reason}`)
  return { kind: 'nmea', sentence, ...values.value }
}

/** Exclusive or of the characters between `$` and `*`. */
function nmeaChecksum(body: string): number {
  let sum = 0
  for (let at = 0; at < body.length; at++) sum ^= body.charCodeAt(at)
  return sum
}

type Values = Omit<NmeaPayload, 'kind' | 'sentence'>

const readers: Readonly<Record<string, (fields: string[]) => Result<Values>>> = {
  GGA(fields) {
    if (fields[5] === '0') return bad('no fix')
    const altitudeM = decimal(fields[8])
    const place = readPlace(fields.slice(1, 5))
    if (!place.ok) return place
    return good({
      ...place.value,
      ...readTime(fields[0]),
      ...(altitudeM === undefined ? {} : { altitudeM }),
    })
  },
  GLL(fields) {
    if (fields[5] === 'V') return bad('no fix')
    const place = readPlace(fields.slice(0, 4))
    return place.ok ? good({ ...place.value, ...readTime(fields[4]) }) : place
  },
  RMC(fields) {
    if (fields[1] !== 'A') return bad('no fix')
    const place = readPlace(fields.slice(2, 6))
    if (!place.ok) return place
    return good({
      ...place.value,
      ...readTime(fields[0]),
      ...readDate(fields[8]),
      ...readMotion(decimal(fields[7]), decimal(fields[6])),
    })
  },
  VTG(fields) {
    const motion = readMotion(decimal(fields[0]), decimal(fields[4]))
    return Object.keys(motion).length === 0 ? bad('no course and speed') : good(motion)
  },
  WPL(fields) {
    const place = readPlace(fields.slice(0, 4))
    if (!place.ok) return place
    const waypoint = fields[4]?.trim() ?? ''
    return good({ ...place.value, ...(waypoint === '' ? {} : { waypoint }) })
  },
}

function readPlace(
  fields: readonly string[],
): Result<{ latitudeDeg: number; longitudeDeg: number }> {
  const latitudeDeg = readAngle(fields[0], fields[1], /^(\d{2})(\d{2}(?:\.\d*)?)$/, 90, 'NS')
  const longitudeDeg = readAngle(fields[2], fields[3], /^(\d{3})(\d{2}(?:\.\d*)?)$/, 180, 'EW')
  if (latitudeDeg === undefined || longitudeDeg === undefined) return bad('no position')
  return good({ latitudeDeg, longitudeDeg })
}

function readAngle(
  digits = '',
  side = '',
  form: RegExp,
  degreesMax: number,
  sides: string,
): number | undefined {
  const parts = form.exec(digits)
  if (parts === null || side.length !== 1 || !sides.includes(side)) return undefined
  const minutes = Number(parts[2])
  const degrees = Number(parts[1]) + minutes / 60
  if (minutes >= 60 || degrees > degreesMax) return undefined
  return side === sides[1] ? -degrees : degrees
}

function readTime(field = ''): { time?: string } {
  const parts = /^(\d\d)(\d\d)(\d\d)(\.\d+)?$/.exec(field)
  if (parts === null) return {}
  return { time: `${parts[1]}:${parts[2]}:${parts[3]}${parts[4] ?? ''}` }
}

/** Two digits of the year: GPS began in 1980. */
function readDate(field = ''): { date?: string } {
  const parts = /^(\d\d)(\d\d)(\d\d)$/.exec(field)
  if (parts === null) return {}
  const [day, month, year] = parts.slice(1).map(Number) as [number, number, number]
  const date = new Date(Date.UTC(year < 80 ? 2000 + year : 1900 + year, month - 1, day))
  // A 31st of April would become the 1st of May.
  return date.getUTCDate() === day && date.getUTCMonth() === month - 1
    ? { date: date.toISOString().slice(0, 10) }
    : {}
}

function readMotion(course: number | undefined, knots: number | undefined): Values {
  const courseKnown = course !== undefined && course >= 0 && course <= 360
  return {
    ...(courseKnown ? { courseDeg: course === 0 ? 360 : course } : {}),
    ...(knots === undefined || knots < 0 ? {} : { speedKmh: knots * kmhPerKnot }),
  }
}

function decimal(field = ''): number | undefined {
  return /^-?\d{1,15}(?:\.\d{0,15})?$/.test(field) ? Number(field) : undefined
}
