import type { HeardWeather } from '../service.js'

/** What an instrument says, in SI units; absent where it says nothing. */
export type WeatherFigures = Omit<HeardWeather, 'call' | 'atWallMs' | 'position'>
export type WeatherField = keyof WeatherFigures

export interface WeatherReading {
  /** of the newest figure */
  readonly atWallMs: number
  readonly figures: WeatherFigures
}

/** Plausible ranges: anything outside is a broken sensor or a broken line. */
const ranges: Readonly<Record<WeatherField, readonly [number, number]>> = {
  temperatureC: [-90, 60],
  windDirectionDeg: [0, 360],
  windSpeedMps: [0, 120],
  windGustMps: [0, 120],
  rainLastHourMm: [0, 500],
  rainLastDayMm: [0, 2000],
  humidityPercent: [0, 100],
  pressureHpa: [500, 1100],
}
export const weatherFields = Object.keys(ranges) as readonly WeatherField[]

/**
 * Reads what an instrument wrote: NMEA 0183 sentences of weather instruments, an object in JSON, or lines such as
 * `temperatureC = 12.3`, with the names of HeardWeather. Later lines win; what is unknown or implausible is left out.
 */
export function parseReading(text: string): WeatherFigures {
  const trimmed = text.trim()
  if (trimmed.startsWith('{')) return plausible(parseJson(trimmed))
  const found: Record<string, number> = {}
  for (const line of trimmed.split(/\r\n|\n|\r/)) {
    if (/^\s*[$!]/.test(line)) Object.assign(found, parseSentence(line.trim()))
    const pair = /^\s*(\w+)\s*[=:]\s*(-?\d+(?:\.\d+)?)\s*$/.exec(line)
    if (pair) found[pair[1]!] = Number(pair[2])
  }
  return plausible(found)
}

function parseJson(text: string): Record<string, unknown> {
  try {
    return JSON.parse(text) as Record<string, unknown>
  } catch {
    return {}
  }
}

function plausible(found: Readonly<Record<string, unknown>>): WeatherFigures {
  const figures: Partial<Record<WeatherField, number>> = {}
  for (const field of weatherFields) {
    const value = found[field]
    const [min, max] = ranges[field]
    if (typeof value === 'number' && value >= min && value <= max) figures[field] = value
  }
  return figures
}

/**
 * One sentence of a weather instrument, any talker: MWV (wind), MDA (all at once), MTA (air temperature),
 * MHU (humidity), MMB (pressure), XDR (transducers). A checksum, where there is one, must be right.
 * @see NMEA 0183 (from memory)
 */
export function parseSentence(sentence: string): Readonly<Partial<Record<WeatherField, number>>> {
  const found = /^[$!]([^*]*)(?:\*([0-9A-Fa-f]{2}))?$/.exec(sentence.trimEnd())
  if (!found) return {}
  const [, body = '', checksum] = found
  if (checksum !== undefined && Number.parseInt(checksum, 16) !== xorOf(body)) return {}
  const [head = '', ...fields] = body.split(',')
  return sentenceReaders[head.slice(-3)]?.(fields) ?? {}
}

const xorOf = (body: string): number => {
  let xor = 0
  for (let at = 0; at < body.length; at++) xor ^= body.charCodeAt(at)
  return xor
}

type Found = Partial<Record<WeatherField, number>>

const sentenceReaders: Readonly<Record<string, (fields: readonly string[]) => Found>> = {
  MWV: ([angle, , speed, unit, status]) =>
    status === 'V' ? {} : { ...direction(angle), ...windSpeed(speed, unit) },
  MDA: (fields) => ({
    ...value('pressureHpa', fields[2], 1000),
    ...value('temperatureC', fields[4], 1),
    ...value('humidityPercent', fields[8], 1),
    ...direction(fields[12]),
    ...windSpeed(fields[18], 'M'),
  }),
  MTA: ([celsius]) => value('temperatureC', celsius, 1),
  MHU: ([percent]) => value('humidityPercent', percent, 1),
  MMB: ([, , bar]) => value('pressureHpa', bar, 1000),
  XDR: (fields) => {
    const found: Found = {}
    for (let at = 0; at + 2 < fields.length; at += 4)
      Object.assign(found, transducer(fields[at], fields[at + 1], fields[at + 2]))
    return found
  },
}

const mpsPerUnit: Readonly<Record<string, number>> = {
  M: 1,
  K: 1 / 3.6,
  N: 1852 / 3600,
  S: 0.44704,
}

const windSpeed = (text: string | undefined, unit: string | undefined): Found =>
  value('windSpeedMps', text, mpsPerUnit[unit ?? ''] ?? Number.NaN)

const direction = (text: string | undefined): Found => value('windDirectionDeg', text, 1)

/** By type and unit: C in degrees Celsius, H in percent, P in bar (B) or pascal (P). */
function transducer(type = '', text = '', unit = ''): Found {
  if (type === 'C' && unit === 'C') return value('temperatureC', text, 1)
  if (type === 'H' && unit === 'P') return value('humidityPercent', text, 1)
  if (type === 'P' && unit === 'B') return value('pressureHpa', text, 1000)
  if (type === 'P' && unit === 'P') return value('pressureHpa', text, 0.01)
  return {}
}

function value(field: WeatherField, text: string | undefined, factor: number): Found {
  if (text === undefined || text.trim() === '') return {}
  const figure = Number(text) * factor
  return Number.isFinite(figure) ? { [field]: figure } : {}
}
