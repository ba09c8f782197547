import { formatLatitude, formatLongitude } from './coordinates.js'
import { writeText } from './text.js'
import { formatTimestamp } from './timestamp.js'
import { mmPerInch, mpsPerMph } from './units.js'

/** Of what weather can say, what a report has room for. */
type WeatherToSend = {
  readonly [Field in
    | 'windDirectionDeg'
    | 'windSpeedMps'
    | 'windGustMps'
    | 'temperatureC'
    | 'rainLastHourMm'
    | 'rainLastDayMm'
    | 'humidityPercent'
    | 'pressureHpa']?: number | undefined
}

export interface WeatherParts {
  /** when it was measured; absent where the clock is not to be trusted, and then with a position only */
  readonly atWallMs?: number
  readonly position?: { readonly latitudeDeg: number; readonly longitudeDeg: number }
  readonly weather: WeatherToSend
}

/**
 * A weather report (ch. 12): `@092345z4903.50N/07201.75W_220/004g005t077r000p000h50b09900`, or without a position
 * `_10090556c220s004g005t077...`. What is not known of wind and temperature goes as dots, the rest is left out.
 * @throws RangeError without both position and time
 */
export function formatWeather({ atWallMs, position, weather }: WeatherParts): Uint8Array {
  const direction = windDirection(weather.windDirectionDeg)
  const speed = digits(perHour(weather.windSpeedMps), 3)
  const values = valuesText(weather)
  if (position === undefined) {
    if (atWallMs === undefined) throw new RangeError('weather: got neither position nor time')
    return writeText(`_${monthTime(atWallMs)}c${direction}s${speed}${values}`)
  }
  const type = atWallMs === undefined ? '=' : `@${formatTimestamp(atWallMs)}`
  const latitude = formatLatitude(position.latitudeDeg, 0)
  const longitude = formatLongitude(position.longitudeDeg, 0)
  return writeText(`${type}${latitude}/${longitude}_${direction}/${speed}${values}`)
}

function valuesText(weather: WeatherToSend): string {
  const { temperatureC, humidityPercent, pressureHpa } = weather
  const fahrenheit = temperatureC === undefined ? undefined : Math.round(temperatureC * 1.8 + 32)
  const optional = (letter: string, value: number | undefined, count: number): string =>
    value === undefined || Math.round(value) >= 10 ** count ? '' : letter + digits(value, count)
  return [
    `g${digits(perHour(weather.windGustMps), 3)}`,
    `t${fahrenheit !== undefined && fahrenheit < 0 ? below(fahrenheit) : digits(fahrenheit, 3)}`,
    optional('r', hundredths(weather.rainLastHourMm), 3),
    optional('p', hundredths(weather.rainLastDayMm), 3),
    humidityPercent === undefined ? '' : `h${humidityDigits(humidityPercent)}`,
    optional('b', pressureHpa === undefined ? undefined : pressureHpa * 10, 5),
  ].join('')
}

/** Dots for what is not known, or does not fit. */
function digits(value: number | undefined, count: number): string {
  const whole = value === undefined ? -1 : Math.round(value)
  return whole < 0 || whole >= 10 ** count ? '.'.repeat(count) : String(whole).padStart(count, '0')
}

const below = (value: number): string =>
  value < -99 ? '...' : `-${String(-value).padStart(2, '0')}`

/** 1 to 360, where 360 is north: 0 says that it is not known (ch. 7). */
const windDirection = (degrees: number | undefined): string =>
  digits(degrees === undefined ? undefined : ((Math.round(degrees) + 359) % 360) + 1, 3)

/** 00 is 100 percent; there is no way to say less than 1. */
const humidityDigits = (percent: number): string =>
  digits(Math.max(1, Math.min(100, Math.round(percent))) % 100, 2)

const perHour = (mps: number | undefined): number | undefined =>
  mps === undefined ? undefined : mps / mpsPerMph

const hundredths = (millimetres: number | undefined): number | undefined =>
  millimetres === undefined ? undefined : (millimetres / mmPerInch) * 100

/** `10090556`: month, day, hours, minutes, UTC (ch. 6). */
function monthTime(wallMs: number): string {
  const date = new Date(wallMs)
  const fields = [
    date.getUTCMonth() + 1,
    date.getUTCDate(),
    date.getUTCHours(),
    date.getUTCMinutes(),
  ]
  return fields.map((field) => String(field).padStart(2, '0')).join('')
}
