import { writeText } from './text.js'
import type { Weather } from './types.js'
import { mmPerInch, mpsPerMph } from './units.js'

/**
 * `_10090556c220s004g005t077`: weather without a position, as ?WX? is answered (ch. 12 and 15).
 * Wind, gust and temperature always stand there, as dots where unknown; the rest only where known.
 */
export function formatWeather(parts: { weather: Weather; atWallMs: number }): Uint8Array {
  const { weather } = parts
  const date = new Date(parts.atWallMs)
  const time = [
    date.getUTCMonth() + 1,
    date.getUTCDate(),
    date.getUTCHours(),
    date.getUTCMinutes(),
  ].map((value) => String(value).padStart(2, '0'))
  const mph = (mps: number | undefined): number | undefined =>
    mps === undefined ? undefined : mps / mpsPerMph
  const hundredthInches = (mm: number | undefined): number | undefined =>
    mm === undefined ? undefined : (mm / mmPerInch) * 100
  const { temperatureC, humidityPercent, pressureHpa } = weather
  const fields = [
    `c${digits(weather.windDirectionDeg, 3)}`,
    `s${digits(mph(weather.windSpeedMps), 3)}`,
    `g${digits(mph(weather.windGustMps), 3)}`,
    `t${temperature(temperatureC)}`,
    known('r', hundredthInches(weather.rainLastHourMm), 3),
    known('p', hundredthInches(weather.rainLastDayMm), 3),
    known('P', hundredthInches(weather.rainSinceMidnightMm), 3),
    // 100 % goes as 00.
    known(
      'h',
      humidityPercent === undefined ? undefined : Math.max(1, Math.round(humidityPercent)) % 100,
      2,
    ),
    known('b', pressureHpa === undefined ? undefined : pressureHpa * 10, 5),
  ]
  return writeText(`_${time.join('')}${fields.join('')}`)
}

function known(letter: string, value: number | undefined, width: number): string {
  return value === undefined ? '' : letter + digits(value, width)
}

/** Dots for a value that is unknown or does not fit. */
function digits(value: number | undefined, width: number): string {
  const whole = value === undefined ? -1 : Math.round(value)
  if (whole < 0 || whole >= 10 ** width) return '.'.repeat(width)
  return String(whole).padStart(width, '0')
}

function temperature(celsius: number | undefined): string {
  if (celsius === undefined) return '...'
  const fahrenheit = Math.round((celsius * 9) / 5 + 32)
  if (fahrenheit >= 0) return digits(fahrenheit, 3)
  return fahrenheit < -99 ? '...' : `-${String(-fahrenheit).padStart(2, '0')}`
}
