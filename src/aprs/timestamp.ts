import { bad, good, type Result } from '../ax25/result.js'
import type { Timestamp } from './types.js'

export const timestampLength = 7

/**
 * Reads the seven characters of positions, objects and status: `092345z`, `092345/`, `234517h` (ch.
 * 6).
 */
export function parseTimestamp(text: string): Result<Timestamp> {
  const parts = /^(\d\d)(\d\d)(\d\d)([z/h])$/.exec(text)
  if (parts === null) return bad(`'${text}' is not a time`)
  const [first, second, third] = parts.slice(1, 4).map(Number) as [number, number, number]
  if (parts[4] === 'h') {
    if (first > 23 || second > 59 || third > 59) return bad(`time ${text} is out of range`)
    return good({ form: 'hoursMinutesSeconds', hours: first, minutes: second, seconds: third })
  }
  if (first < 1 || first > 31 || second > 23 || third > 59) {
    return bad(`time ${text} is out of range`)
  }
  const zone = parts[4] === 'z' ? 'UTC' : 'local'
  const base = { form: 'dayHoursMinutes', day: first, hours: second, minutes: third, zone } as const
  return good(text === '111111z' ? { ...base, permanent: true } : base)
}

/** Reads the eight characters of positionless weather: `10092345`, month first, UTC (ch. 6). */
export function parseMonthTimestamp(text: string): Result<Timestamp> {
  const parts = /^(\d\d)(\d\d)(\d\d)(\d\d)$/.exec(text)
  if (parts === null) return bad(`'${text}' is not a time with month`)
  const [month, day, hours, minutes] = parts.slice(1).map(Number) as [
    number,
    number,
    number,
    number,
  ]
  if (month < 1 || month > 12 || day < 1 || day > 31 || hours > 23 || minutes > 59) {
    return bad(`time ${text} is out of range`)
  }
  return good({ form: 'monthDayHoursMinutes', month, day, hours, minutes })
}

/** `092345z` for a moment. */
export function formatTimestamp(wallMs: number): string {
  const date = new Date(wallMs)
  const fields = [date.getUTCDate(), date.getUTCHours(), date.getUTCMinutes()]
  return `${fields.map(twoDigits).join('')}z`
}

/** In words: `day 09 23:45 UTC`, `23:45:17 UTC`, `10-09 23:45 UTC`, `always`. */
export function describeTimestamp(time: Timestamp): string {
  if (time.form === 'dayHoursMinutes' && time.permanent) return 'always'
  const clock = `${twoDigits(time.hours)}:${twoDigits(time.minutes)}`
  if (time.form === 'hoursMinutesSeconds') return `${clock}:${twoDigits(time.seconds)} UTC`
  if (time.form === 'monthDayHoursMinutes') {
    return `${twoDigits(time.month)}-${twoDigits(time.day)} ${clock} UTC`
  }
  return `day ${twoDigits(time.day)} ${clock} ${time.zone}`
}

const twoDigits = (value: number): string => String(value).padStart(2, '0')
