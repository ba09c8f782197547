import { formatCompressed } from './compressed.js'
import { formatLatitude, formatLongitude } from './coordinates.js'
import { addresseeLength } from './message.js'
import { messageTextProblem } from './messageText.js'
import { objectNameLength } from './object.js'
import { writeText } from './text.js'
import { formatTimestamp } from './timestamp.js'
import type { AntennaReport, MapSymbol } from './types.js'
import { kmhPerKnot, kmPerMile, metersPerFoot } from './units.js'

/*
 * Payloads that we send, as information fields. Each function throws RangeError where an argument
 * breaks the standard's limits: a caller that passes on what somebody wrote looks first
 * (messageTextProblem, splitting).
 */

export interface MessageParts {
  /** call with SSID, or a group; at most 9 characters */
  readonly addressee: string
  /** at most 67 characters, and 239 octets */
  readonly text: string
  /** 1 to 5 letters and digits; none for a message that nobody acknowledges */
  readonly number?: string
  /**
   * reply-acknowledgement: number of a message that this one acknowledges, '' to say only that we
   * understand the form. A line number has at most five characters, and MM}AA is one: so both
   * numbers have two (addendum 1.1, reply-acks, from memory). What does not fit is left out: an
   * acknowledgement of its own tells it anyway.
   */
  readonly replyAcknowledges?: string
}

/** `:N0CALL-7 :Testing{003` (ch. 14). */
export function formatMessage(parts: MessageParts): Uint8Array {
  const problem = messageTextProblem(parts.text)
  if (problem !== undefined) throw new RangeError(`message text: ${problem}`)
  const { number, replyAcknowledges } = parts
  if (number === undefined && replyAcknowledges !== undefined) {
    throw new RangeError('a reply-acknowledgement needs a message number')
  }
  const tail = number === undefined ? '' : `{${lineNumber(number, replyAcknowledges)}`
  return writeText(addressed(parts.addressee) + parts.text + tail)
}

/** `:N0CALL-7 :ack003`. The number may be a received message's numberAsSent, `MM}AA`. */
export function formatAcknowledgement(parts: { addressee: string; number: string }): Uint8Array {
  return writeText(`${addressed(parts.addressee)}ack${checkNumberAsSent(parts.number)}`)
}

/** `:N0CALL-7 :rej003`. */
export function formatRejection(parts: { addressee: string; number: string }): Uint8Array {
  return writeText(`${addressed(parts.addressee)}rej${checkNumberAsSent(parts.number)}`)
}

/**
 * `:BLN3     :text`, `:BLN4WX   :text`, `:BLNQ     :text`.
 * @param parts.id a digit for a bulletin, an upper-case letter for an announcement
 * @param parts.group at most 5 letters and digits
 */
export function formatBulletin(parts: { id: string; group?: string; text: string }): Uint8Array {
  if (!/^[0-9A-Z]$/.test(parts.id)) throw new RangeError(`bulletin: got identifier '${parts.id}'`)
  if (!/^[0-9A-Za-z]{0,5}$/.test(parts.group ?? '')) {
    throw new RangeError(`bulletin: got group '${parts.group}', expected at most 5 characters`)
  }
  return formatMessage({ addressee: `BLN${parts.id}${parts.group ?? ''}`, text: parts.text })
}

export interface PositionParts {
  readonly latitudeDeg: number
  readonly longitudeDeg: number
  readonly symbol: MapSymbol
  /** the sender can take messages */
  readonly messaging: boolean
  /** a time goes along */
  readonly atWallMs?: number
  /** digits to blank, 0 to 4 */
  readonly ambiguityDigits?: number
  readonly compressed?: boolean
  readonly courseDeg?: number
  readonly speedKmh?: number
  /** PHG; one of antenna, range and course goes */
  readonly antenna?: AntennaReport
  /** RNG: reach of the signal */
  readonly rangeKm?: number
  readonly altitudeM?: number
  readonly comment?: string
}

/** `=4903.50N/07201.75W-comment` (ch. 8). */
export function formatPosition(parts: PositionParts): Uint8Array {
  const timed = parts.atWallMs !== undefined
  const type = timed ? (parts.messaging ? '@' : '/') : parts.messaging ? '=' : '!'
  return writeText(type + (timed ? formatTimestamp(parts.atWallMs!) : '') + placed(parts))
}

export type ObjectParts = Omit<PositionParts, 'messaging' | 'atWallMs'> & {
  /** 1 to 9 characters */
  readonly name: string
  readonly live: boolean
} & ({ readonly atWallMs: number } | { readonly permanent: true })

/**
 * `;NAME     *092345z4903.50N/07201.75W>comment` (ch. 11); a permanent object has the time 111111z.
 */
export function formatObject(parts: ObjectParts): Uint8Array {
  if (!/^[!-~][ -~]{0,8}$/.test(parts.name)) {
    throw new RangeError(`object name: got '${parts.name}', expected 1 to 9 printable characters`)
  }
  const time = 'permanent' in parts ? '111111z' : formatTimestamp(parts.atWallMs)
  const name = parts.name.padEnd(objectNameLength)
  return writeText(`;${name}${parts.live ? '*' : '_'}${time}${placed(parts)}`)
}

const statusTextMax = 62
const timedStatusTextMax = 55

/** `>092345zNet Control Center` (ch. 16). */
export function formatStatus(parts: { text: string; atWallMs?: number }): Uint8Array {
  const timed = parts.atWallMs !== undefined
  const octets = writeText(parts.text)
  const limit = timed ? timedStatusTextMax : statusTextMax
  if (octets.length > limit || /[|~\x00-\x1f\x7f]/.test(parts.text)) {
    throw new RangeError(`status: expected at most ${limit} octets without | and ~`)
  }
  return writeText(`>${timed ? formatTimestamp(parts.atWallMs!) : ''}${parts.text}`)
}

/** `<IGATE,MSG_CNT=43` (ch. 15). */
export function formatCapabilities(tokens: Readonly<Record<string, string | true>>): Uint8Array {
  const fields = Object.entries(tokens).map(([name, value]) =>
    value === true ? name : `${name}=${value}`,
  )
  return writeText(`<${fields.join(',')}`)
}

const commentMax = 43
const commentMaxExtended = 36
const commentMaxCompressed = 40

function placed(parts: Omit<PositionParts, 'messaging'>): string {
  const { latitudeDeg, longitudeDeg, symbol, ambiguityDigits = 0, altitudeM, comment = '' } = parts
  if (!/^[/\\0-9A-Z]$/.test(symbol.table) || !/^[!-~]$/.test(symbol.code)) {
    throw new RangeError(`symbol: got '${symbol.table}${symbol.code}'`)
  }
  const altitude = altitudeM === undefined ? '' : altitudeText(altitudeM)
  if (parts.compressed) {
    if (parts.antenna !== undefined || parts.rangeKm !== undefined)
      throw new RangeError('PHG and RNG do not go with compression')
    const moving = parts.courseDeg !== undefined && parts.speedKmh !== undefined
    const tail = checkComment(moving ? altitude + comment : comment, commentMaxCompressed)
    return formatCompressed(latitudeDeg, longitudeDeg, symbol, parts) + tail
  }
  const extension = extensionOf(parts)
  const limit = extension === '' ? commentMax : commentMaxExtended
  const latitude = formatLatitude(latitudeDeg, ambiguityDigits)
  const longitude = formatLongitude(longitudeDeg, ambiguityDigits)
  const tail = extension + checkComment(altitude + comment, limit)
  return `${latitude}${symbol.table}${longitude}${symbol.code}${tail}`
}

function checkComment(comment: string, octetCountMax: number): string {
  const octetCount = writeText(comment).length
  if (octetCount > octetCountMax || /[\x00-\x1f\x7f]/.test(comment)) {
    const wanted = `at most ${octetCountMax} without control characters`
    throw new RangeError(`comment: got ${octetCount} octets, expected ${wanted}`)
  }
  return comment
}

function extensionOf(parts: Omit<PositionParts, 'messaging'>): string {
  if (parts.antenna !== undefined) return antennaText(parts.antenna)
  if (parts.rangeKm !== undefined) {
    const miles = Math.max(0, Math.min(9999, Math.round(parts.rangeKm / kmPerMile)))
    return `RNG${String(miles).padStart(4, '0')}`
  }
  if (parts.courseDeg === undefined && parts.speedKmh === undefined) return ''
  const knots = Math.min(999, Math.round((parts.speedKmh ?? 0) / kmhPerKnot))
  const course = Math.round(parts.courseDeg ?? 0)
  return `${String(course).padStart(3, '0')}/${String(knots).padStart(3, '0')}`
}

/** Rounded to what PHG can say: whole roots of watts, doublings of 10 ft, whole dB, eighths of a turn (ch. 7). */
function antennaText(antenna: AntennaReport): string {
  const digit = (value: number): number => Math.max(0, Math.min(9, Math.round(value)))
  const power = digit(Math.sqrt(antenna.powerW))
  const doublings = Math.round(
    Math.log2(Math.max(1, antenna.heightAboveTerrainM / metersPerFoot / 10)),
  )
  // Digits go on after 9 as `:` `;` ... `~`.
  const height = String.fromCharCode(0x30 + Math.min(doublings, 0x7e - 0x30))
  return `PHG${power}${height}${digit(antenna.gainDb)}${directionDigit(antenna.directionDeg)}`
}

/** North is 8, since 0 is every direction. */
function directionDigit(direction: AntennaReport['directionDeg']): number {
  if (direction === 'omni') return 0
  if (direction === 'undefined') return 9
  return Math.round(direction / 45) % 8 || 8
}

function altitudeText(altitudeM: number): string {
  const feet = Math.round(altitudeM / metersPerFoot)
  return feet < 0 ? `/A=-${String(-feet).padStart(5, '0')}` : `/A=${String(feet).padStart(6, '0')}`
}

function addressed(addressee: string): string {
  if (!/^[!-9;-~][!-~]{0,8}$/.test(addressee)) {
    throw new RangeError(`addressee: got '${addressee}', expected 1 to 9 characters`)
  }
  return `:${addressee.padEnd(addresseeLength)}:`
}

const lineNumberLength = 5

/** `MM}AA`, or as much of it as fits. */
function lineNumber(number: string, acknowledges: string | undefined): string {
  const alone = checkNumber(number)
  if (acknowledges === undefined) return alone
  const forms = [`${alone}}${acknowledges === '' ? '' : checkNumber(acknowledges)}`, `${alone}}`]
  return forms.find((form) => form.length <= lineNumberLength) ?? alone
}

function checkNumber(number: string): string {
  if (/^[A-Za-z0-9]{1,5}$/.test(number)) return number
  throw new RangeError(`message number: got '${number}', expected 1 to 5 letters and digits`)
}

function checkNumberAsSent(number: string): string {
  const parts = number.split('}')
  checkNumber(parts[0]!)
  if (parts.length > 2) throw new RangeError(`message number: got '${number}'`)
  if (parts[1] !== undefined && parts[1] !== '') checkNumber(parts[1])
  return number
}
