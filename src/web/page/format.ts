import { compassPointAt } from '../../services/geo/compass'
import { now } from './model'
import { words } from './settings'

const second = 1000
const minute = 60 * second
const hour = 60 * minute
const day = 24 * hour

interface Formats {
  readonly time: Intl.DateTimeFormat
  readonly date: Intl.DateTimeFormat
}
const formats = new Map<string, Formats>()

/** Made once: making one takes longer than all else of a line. */
function formatsOf(locale: string): Formats {
  const made = formats.get(locale) ?? {
    time: new Intl.DateTimeFormat(locale, { timeStyle: 'medium', hourCycle: 'h23' }),
    date: new Intl.DateTimeFormat(locale, { day: 'numeric', month: 'short' }),
  }
  formats.set(locale, made)
  return made
}

/** '14:05:09', local time of whoever looks; with the date where it is another day. */
export function timeOf(wallMs: number): string {
  const { time, date } = formatsOf(words.value.locale)
  const clock = time.format(wallMs)
  // No line is shown anew each second for its date.
  if (Math.abs(now.peek() - wallMs) < 12 * hour) return clock
  return `${date.format(wallMs)} ${clock.slice(0, 5)}`
}

export function duration(ms: number): string {
  const { time } = words.value
  if (ms < 99.5 * second)
    return time.seconds(
      ms < 10 * second ? Number((ms / second).toFixed(1)) : Math.round(ms / second),
    )
  if (ms < 99.5 * minute) return time.minutes(Math.round(ms / minute))
  if (ms < 48 * hour) return time.hours(Math.round(ms / hour))
  return time.days(Math.round(ms / day))
}

export function ago(wallMs: number): string {
  const { time } = words.value
  const ageMs = now.value - wallMs
  return ageMs < 5 * second ? time.now : time.ago(duration(Math.round(ageMs / second) * second))
}

const compass = 'N,NNE,NE,ENE,E,ESE,SE,SSE,S,SSW,SW,WSW,W,WNW,NW,NNW'.split(',')
export const bearing = (deg: number): string =>
  `${Math.round(deg)}°\u00a0${compass[compassPointAt(deg)]}`
export const km = (value: number): string =>
  `${value < 10 ? value.toFixed(1) : Math.round(value)}\u00a0km`
export const db = (value: number): string =>
  `${Math.round(value) < 0 ? '−' : ''}${Math.abs(Math.round(value))}`
const signOf = (value: number): string => (value < 0 ? '−' : value > 0 ? '+' : '')
export const signedDb = (value: number): string =>
  `${signOf(Math.round(value))}${Math.abs(value).toFixed(0)}\u00a0dB`

/** '45.1710 N 36.6630 W', degrees. */
export const placeOf = (place: {
  readonly latitudeDeg: number
  readonly longitudeDeg: number
}): string =>
  `${Math.abs(place.latitudeDeg).toFixed(4)}\u00a0${place.latitudeDeg < 0 ? 'S' : 'N'} ` +
  `${Math.abs(place.longitudeDeg).toFixed(4)}\u00a0${place.longitudeDeg < 0 ? 'W' : 'E'}`
