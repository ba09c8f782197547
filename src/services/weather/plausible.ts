import type { HeardWeather } from '../service.js'

/** What an instrument says, in SI units; absent where it says nothing. */
export type WeatherFigures = Omit<HeardWeather, 'call' | 'atWallMs' | 'position'>
export type WeatherField = keyof WeatherFigures

/** Plausible ranges, ends included: anything outside is a broken sensor or a broken line, at the node and elsewhere. */
const ranges: Readonly<Record<WeatherField, readonly [min: number, max: number]>> = {
  temperatureC: [-90, 60],
  windDirectionDeg: [0, 360],
  windSpeedMps: [0, 120],
  windGustMps: [0, 120],
  rainLastHourMm: [0, 500],
  rainLastDayMm: [0, 2000],
  humidityPercent: [0, 100],
  pressureHpa: [500, 1100],
}
const weatherFields = Object.keys(ranges) as readonly WeatherField[]

export interface PlausibleWeather {
  readonly figures: WeatherFigures
  /** what was said of these lies outside, and is left out */
  readonly outside: readonly WeatherField[]
}

/** The figures that weather can have. Units that were converted may lie off the end of a range by their rounding. */
export function plausibleWeather(
  said: Readonly<Partial<Record<WeatherField, number | undefined>>>,
): PlausibleWeather {
  const figures: Partial<Record<WeatherField, number>> = {}
  const outside: WeatherField[] = []
  for (const field of weatherFields) {
    const value = said[field]
    if (value === undefined) continue
    const [min, max] = ranges[field]
    if (value >= min - roundingError && value <= max + roundingError) figures[field] = value
    else outside.push(field)
  }
  return { figures, outside }
}

const roundingError = 1e-9
