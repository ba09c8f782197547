import { fieldValue, fold, namedField } from './fieldNames.js'
import { plausibleWeather, type WeatherField, type WeatherFigures } from './plausible.js'
import { type FoundFigures, parseSentence, type TransducerFields } from './sentences.js'

export interface WeatherReading {
  /** of the newest figure */
  readonly atWallMs: number
  readonly figures: WeatherFigures
}

/** What an instrument's text says. */
export interface ParsedReading {
  readonly figures: WeatherFigures
  /** when it was measured, where the text says so */
  readonly atWallMs?: number
  /** names that are not known, each once */
  readonly unknown: readonly string[]
  /** fields whose figures no weather has */
  readonly outside: readonly WeatherField[]
}

/** An instrument that talks nonsense has no end of names. */
const unknownMax = 40
const depthMax = 6

/**
 * Reads what an instrument wrote: NMEA 0183 sentences of weather instruments, an object in JSON (nested, numbers as
 * texts too), or lines such as `temperature = 12,3 °C`. Names are those of README; a figure without a unit is in °C, m/s, hPa,
 * mm, percent or degrees. Later lines win; what is unknown or implausible is left out and named.
 */
export function parseReading(text: string, transducers: TransducerFields = {}): ParsedReading {
  const found = gathered(transducers)
  const trimmed = text.trim().replace(/^\uFEFF/, '')
  const object = /^[{[]/.test(trimmed) ? parsedJson(trimmed) : undefined
  if (object !== undefined) found.takeObject(object, [])
  else for (const line of trimmed.split(/\r\n|\n|\r/)) found.takeLine(line)
  const { figures, outside } = plausibleWeather(found.figures)
  const { atWallMs } = found
  return {
    figures,
    outside,
    unknown: [...found.unknown],
    ...(atWallMs === undefined ? {} : { atWallMs }),
  }
}

function parsedJson(text: string): unknown {
  try {
    return JSON.parse(text)
  } catch {
    return undefined
  }
}

function gathered(transducers: TransducerFields) {
  const found = {
    figures: {} as FoundFigures,
    atWallMs: undefined as number | undefined,
    unknown: new Set<string>(),
    takeLine(line: string): void {
      if (/^\s*[$!]/.test(line)) {
        const read = parseSentence(line.trim(), transducers)
        Object.assign(found.figures, read.figures)
        for (const name of read.unknown) note(name)
        return
      }
      const pair = /^\s*([^=:#;]{1,60}?)\s*[=:]\s*(.*?)\s*$/.exec(line.slice(0, 300))
      if (pair && /^[\p{L}_]/u.test(pair[1]!)) takePair([pair[1]!], pair[2]!)
    },
    takeObject(value: unknown, path: readonly string[]): void {
      if (path.length > depthMax) return
      if (typeof value === 'object' && value !== null) {
        const entries = Object.entries(value)
        // { "value": 12.3, "unit": "C" } is one figure.
        const measured = entries.find(([key]) => /^(value|val)$/i.test(key))?.[1]
        const unit = entries.find(([key]) => /^(unit|units|uom)$/i.test(key))?.[1]
        if (measured !== undefined && path.length > 0) {
          const isBare = typeof measured === 'number' && typeof unit === 'string'
          takePair(path, isBare ? `${measured} ${unit}` : measured)
        } else
          for (const [key, inner] of entries.slice(0, 500))
            found.takeObject(inner, Array.isArray(value) ? path : [...path, key])
      } else if (path.length > 0) takePair(path, value)
    },
  }
  const note = (name: string): void => {
    if (name !== '' && found.unknown.size < unknownMax) found.unknown.add(name.slice(0, 40))
  }
  const takePair = (path: readonly string[], value: unknown): void => {
    const timeMs = timeOf(path, value)
    if (timeMs !== undefined) {
      found.atWallMs = timeMs
      return
    }
    const named = namedField(path)
    if (named === 'other') return
    if (named === undefined) {
      // Names and texts that are no figures are not for us.
      if (typeof value === 'number' || /^[-+]?[\d.,]+\s*\D{0,8}$/.test(String(value)))
        note(path.join('.'))
      return
    }
    const figure = fieldValue(named, value)
    if (figure !== undefined) found.figures[named.field] = figure
    else if (value !== null && value !== '') note(`${path.join('.')} (${String(value)})`)
  }
  return found
}

const timeNames =
  /^(time|timestamp|datetime|date|measuredat|observed|observationtime|epoch|unixtime|updated|lastupdate|ts|dt)$/

/** Seconds or milliseconds since 1970, or ISO 8601 with a zone; a time without a zone may be any. */
function timeOf(path: readonly string[], value: unknown): number | undefined {
  if (!timeNames.test(fold(path.at(-1) ?? ''))) return undefined
  const text = String(value).trim()
  if (/^\d{9,10}(\.\d+)?$/.test(text)) return Math.round(Number(text) * 1000)
  if (/^\d{12,13}$/.test(text)) return Number(text)
  if (!/^\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d+)?)?\s*(Z|UTC|[+-]\d\d:?\d\d)$/i.test(text))
    return undefined
  const ms = Date.parse(text.replace(' ', 'T').replace(/\s*UTC$/i, 'Z'))
  return Number.isFinite(ms) ? ms : undefined
}
