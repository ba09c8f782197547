import type { Wording } from '../../words/air/wording.js'
import { compassWords, type DistanceUnits } from '../geo/words.js'
import type { WeatherPast } from './history.js'
import type { WeatherFigures } from './plausible.js'

/** `12.3C wind 18km/h NW gust 32km/h humidity 81% 1013hPa rain 0.2mm/h`; with miles F, mph and inches. */
export function weatherWords(
  figures: WeatherFigures,
  units: DistanceUnits,
  wording: Wording,
  pressureChangeHpa?: number,
): string {
  const parts: string[] = []
  const { temperatureC, humidityPercent, pressureHpa } = figures
  if (temperatureC !== undefined) parts.push(temperatureWords(temperatureC, units, wording))
  parts.push(...windWords(figures, units, wording))
  if (humidityPercent !== undefined)
    parts.push(wording.say('humidity', { percent: Math.round(humidityPercent) }))
  if (pressureHpa !== undefined) parts.push(`${Math.round(pressureHpa)}hPa`)
  if (pressureHpa !== undefined && pressureChangeHpa !== undefined)
    parts.push(tendencyWords(pressureChangeHpa, wording))
  const { rainLastHourMm, rainLastDayMm } = figures
  if (rainLastHourMm !== undefined && rainLastHourMm > 0)
    parts.push(wording.say('rainHour', { amount: rainWords(rainLastHourMm, units, wording) }))
  else if (rainLastDayMm !== undefined && rainLastDayMm > 0)
    parts.push(wording.say('rainDay', { amount: rainWords(rainLastDayMm, units, wording) }))
  return parts.join(' ')
}

/** Rising, falling or steady, as the change over three hours reads to a tenth (WMO-No. 306, code table 0200, has these three). */
function tendencyWords(changeHpa: number, { say, decimal }: Wording): string {
  const change = Number(Math.abs(changeHpa).toFixed(1))
  if (change === 0) return say('pressureSteady')
  return say(changeHpa > 0 ? 'pressureRises' : 'pressureFalls', {
    change: `${decimal(change)}hPa/3h`,
  })
}

/** `In 24h -3.1C to 12.4C, gust 61km/h`; '' where too little was measured to tell. */
export function extremesWords(past: WeatherPast, units: DistanceUnits, wording: Wording): string {
  const { measuredHours: hours, leastC, greatestC, gustMps } = past
  if (hours < extremesHoursMin || leastC === undefined || greatestC === undefined) return ''
  const least = temperatureWords(leastC, units, wording)
  const greatest = temperatureWords(greatestC, units, wording)
  const gust = gustMps === undefined ? [] : windWords({ windGustMps: gustMps }, units, wording)
  return [wording.say('weatherExtremes', { hours, least, greatest }), ...gust].join(', ')
}
const extremesHoursMin = 3

const temperatureWords = (celsius: number, units: DistanceUnits, { decimal }: Wording): string =>
  units === 'miles' ? `${Math.round(celsius * 1.8 + 32)}F` : `${decimal(trim(celsius))}C`

function windWords(figures: WeatherFigures, units: DistanceUnits, wording: Wording): string[] {
  const { windSpeedMps, windDirectionDeg, windGustMps } = figures
  const speed = (mps: number): number => Math.round(units === 'miles' ? mps / 0.44704 : mps * 3.6)
  const unit = units === 'miles' ? 'mph' : 'km/h'
  const parts: string[] = []
  if (windSpeedMps !== undefined) {
    if (speed(windSpeedMps) === 0) parts.push(wording.say('calm'))
    else {
      parts.push(wording.say('wind', { speed: `${speed(windSpeedMps)}${unit}` }))
      if (windDirectionDeg !== undefined) parts.push(compassWords(windDirectionDeg, wording))
    }
  }
  if (windGustMps !== undefined && windGustMps > (windSpeedMps ?? 0))
    parts.push(wording.say('gust', { speed: `${speed(windGustMps)}${unit}` }))
  return parts
}

const rainWords = (millimetres: number, units: DistanceUnits, { decimal }: Wording): string =>
  units === 'miles'
    ? `${decimal((millimetres / 25.4).toFixed(2))}in`
    : `${decimal(trim(millimetres))}mm`

const trim = (value: number): string => String(Number(value.toFixed(1)))
