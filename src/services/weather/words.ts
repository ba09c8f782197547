import { compassPoint } from '../geo/compass.js'
import type { DistanceUnits } from '../geo/words.js'
import type { WeatherFigures } from './plausible.js'

/** `12.3C wind 18km/h NW gust 32km/h humidity 81% 1013hPa rain 0.2mm/h`; with miles F, mph and inches. */
export function weatherWords(figures: WeatherFigures, units: DistanceUnits): string {
  const parts: string[] = []
  const { temperatureC, humidityPercent, pressureHpa } = figures
  if (temperatureC !== undefined) parts.push(temperatureWords(temperatureC, units))
  parts.push(...windWords(figures, units))
  if (humidityPercent !== undefined) parts.push(`humidity ${Math.round(humidityPercent)}%`)
  if (pressureHpa !== undefined) parts.push(`${Math.round(pressureHpa)}hPa`)
  const { rainLastHourMm, rainLastDayMm } = figures
  if (rainLastHourMm !== undefined && rainLastHourMm > 0)
    parts.push(`rain ${rainWords(rainLastHourMm, units)}/h`)
  else if (rainLastDayMm !== undefined && rainLastDayMm > 0)
    parts.push(`rain ${rainWords(rainLastDayMm, units)}/24h`)
  return parts.join(' ')
}

const temperatureWords = (celsius: number, units: DistanceUnits): string =>
  units === 'miles' ? `${Math.round(celsius * 1.8 + 32)}F` : `${trim(celsius)}C`

function windWords(figures: WeatherFigures, units: DistanceUnits): string[] {
  const { windSpeedMps, windDirectionDeg, windGustMps } = figures
  const speed = (mps: number): number => Math.round(units === 'miles' ? mps / 0.44704 : mps * 3.6)
  const unit = units === 'miles' ? 'mph' : 'km/h'
  const parts: string[] = []
  if (windSpeedMps !== undefined) {
    if (speed(windSpeedMps) === 0) parts.push('calm')
    else {
      parts.push(`wind ${speed(windSpeedMps)}${unit}`)
      if (windDirectionDeg !== undefined) parts.push(compassPoint(windDirectionDeg))
    }
  }
  if (windGustMps !== undefined && windGustMps > (windSpeedMps ?? 0))
    parts.push(`gust ${speed(windGustMps)}${unit}`)
  return parts
}

const rainWords = (millimetres: number, units: DistanceUnits): string =>
  units === 'miles' ? `${(millimetres / 25.4).toFixed(2)}in` : `${trim(millimetres)}mm`

const trim = (value: number): string => String(Number(value.toFixed(1)))
