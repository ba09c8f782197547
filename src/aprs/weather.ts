import { readText } from './text.js'
import { parseMonthTimestamp } from './timestamp.js'
import { type UnreadablePayload, unreadable, type Weather, type WeatherPayload } from './types.js'
import { celsiusOfFahrenheit, metersPerFoot, mmPerInch, mpsPerMph } from './units.js'

/*
 * Weather (ch. 12): a letter and a fixed count of digits for each value, dots or blanks where there
 * is none. Ch. 7 counts the wind of a data extension in knots, ch. 12 in miles an hour and lets it
 * stand for c and s: miles an hour here, as is common practice (no source). The speed of a
 * compressed position stays in knots, by ch. 9.
 */

type Mutable<T> = { -readonly [Key in keyof T]: T[Key] }

export interface FoundWeather {
  readonly weather: Weather
  readonly rest: string
}

/** Reads `_10090556c220s004g005t077...`: weather without position, from the `_` on. */
export function parsePositionlessWeather(text: string): WeatherPayload | UnreadablePayload {
  const timestamp = parseMonthTimestamp(text.slice(1, 9))
  const found = findWeather(text.slice(9), false)
  if (Object.keys(found.weather).length === 0 && !timestamp.ok) {
    return unreadable(`weather report without values: ${timestamp.reason}`)
  }
  return {
    kind: 'weather',
    weather: found.weather,
    ...(timestamp.ok ? { timestamp: timestamp.value } : { problem: timestamp.reason }),
    comment: readText(found.rest).trim(),
  }
}

/**
 * Reads values from the start of a text, in any order, up to the first thing that is none.
 * @param windKnown the position's extension has given the wind, so that `s` is snowfall
 */
export function findWeather(text: string, windKnown: boolean): FoundWeather {
  const weather: Mutable<Weather> = {}
  let rest = text
  let speedSeen = windKnown
  for (;;) {
    const parts = fieldForm.exec(rest)
    if (parts === null) break
    const [letter, digits] = parts.slice(1).filter((part) => part !== undefined) as [string, string]
    const value = /\d/.test(digits) ? Number(digits) : undefined
    rest = rest.slice(parts[0].length)
    if (value === undefined || Number.isNaN(value)) {
      if (letter === 's') speedSeen = true
      continue
    }
    if (letter === 's' && speedSeen) weather.snowLastDayMm = value * mmPerInch
    else setValue(weather, letter, value)
    if (letter === 's') speedSeen = true
  }
  // What is left, when it is 3 to 5 characters, names the sender's software and instrument.
  const station = /^([!-~])([!-~]{2,4})$/.exec(rest.trim())
  if (station !== null) {
    weather.software = station[1]!
    weather.instrument = station[2]!
  }
  return { weather, rest }
}

/**
 * Letter, then digits or dots or blanks as many as the letter has; V, X, F and f of addendum 1.2 are from
 * memory. The level of water, F in feet and f in metres, is read with its point only: what digits without one
 * count, tenths or wholes, is not known here, and they stay in the comment.
 */
const fieldForm = new RegExp(
  '^(?:([csgrpPLlVX#])(\\d{3}|\\d\\.\\d|\\.\\d{2}|\\d{2}\\.|\\.{3}| {3})' +
    '|([Ff])(-?\\d{1,4}\\.\\d{1,2})' +
    '|(t)(-\\d{2}|-\\d|\\d{3}|\\.{3}| {3})|(h)(\\d{2}|\\.{2}| {2})|(b)(\\d{5}|\\.{5}| {5}))',
)

function setValue(weather: Mutable<Weather>, letter: string, value: number): void {
  const inchesToMm = (value / 100) * mmPerInch
  if (letter === 'c') {
    if (value <= 360) weather.windDirectionDeg = value
  } else if (letter === 's') weather.windSpeedMps = value * mpsPerMph
  else if (letter === 'g') weather.windGustMps = value * mpsPerMph
  else if (letter === 't') weather.temperatureC = celsiusOfFahrenheit(value)
  else if (letter === 'r') weather.rainLastHourMm = inchesToMm
  else if (letter === 'p') weather.rainLastDayMm = inchesToMm
  else if (letter === 'P') weather.rainSinceMidnightMm = inchesToMm
  else if (letter === '#') weather.rainCounter = value
  else if (letter === 'h') weather.humidityPercent = value === 0 ? 100 : value
  else if (letter === 'b') weather.pressureHpa = value / 10
  else if (letter === 'L') weather.luminosityWattsPerM2 = value
  else if (letter === 'l') weather.luminosityWattsPerM2 = value + 1000
  else if (letter === 'F') weather.waterLevelM = value * metersPerFoot
  else if (letter === 'f') weather.waterLevelM = value
  else if (letter === 'V') weather.batteryV = value / 10
  // Two digits and a power of ten.
  else if (letter === 'X') {
    weather.radiationNanosievertsPerHour = Math.floor(value / 10) * 10 ** (value % 10)
  }
}
