import { fold, namedField } from './fieldNames.js'
import type { WeatherField } from './plausible.js'

export type FoundFigures = Partial<Record<WeatherField, number>>

/** Transducers of XDR sentences by name, as the operator knows them. */
export type TransducerFields = Readonly<Partial<Record<string, WeatherField>>>

export interface SentenceRead {
  readonly figures: FoundFigures
  /** transducers that are not known, as they name themselves */
  readonly unknown: readonly string[]
}

const nothing: SentenceRead = { figures: {}, unknown: [] }

/**
 * One sentence of a weather instrument, any talker: MWV and MWD (wind), MDA (all at once), MTA (air temperature),
 * MHU (humidity), MMB (pressure), XDR (transducers). A checksum, where there is one, must be right.
 * @see NMEA 0183 (from memory)
 */
export function parseSentence(sentence: string, transducers: TransducerFields = {}): SentenceRead {
  const found = /^[$!]([^*]*)(?:\*([0-9A-Fa-f]{2}))?$/.exec(sentence.trimEnd())
  if (!found) return nothing
  const [, body = '', checksum] = found
  if (checksum !== undefined && Number.parseInt(checksum, 16) !== xorOf(body)) return nothing
  const [head = '', ...fields] = body.split(',')
  const type = head.slice(-3)
  if (type === 'XDR') return transducerValues(fields, transducers)
  return { figures: sentenceReaders[type]?.(fields) ?? {}, unknown: [] }
}

const xorOf = (body: string): number => {
  let xor = 0
  for (let at = 0; at < body.length; at++) xor ^= body.charCodeAt(at)
  return xor
}

const hpaPerInchHg = 33.8639

const sentenceReaders: Readonly<Record<string, (fields: readonly string[]) => FoundFigures>> = {
  MWV: ([angle, , speed, unit, status]) =>
    status === 'V' ? {} : { ...value('windDirectionDeg', angle, 1), ...windSpeed(speed, unit) },
  // true direction, magnetic direction, knots, m/s
  MWD: (fields) => ({
    ...value('windDirectionDeg', fields[0], 1),
    ...windSpeed(fields[4], 'N'),
    ...windSpeed(fields[6], 'M'),
  }),
  // What stands later wins: bar over inches of mercury, m/s over knots.
  MDA: (fields) => ({
    ...value('pressureHpa', fields[0], hpaPerInchHg),
    ...value('pressureHpa', fields[2], 1000),
    ...value('temperatureC', fields[4], 1),
    ...value('humidityPercent', fields[8], 1),
    ...value('windDirectionDeg', fields[12], 1),
    ...windSpeed(fields[16], 'N'),
    ...windSpeed(fields[18], 'M'),
  }),
  MTA: ([celsius]) => value('temperatureC', celsius, 1),
  MHU: ([percent]) => value('humidityPercent', percent, 1),
  MMB: ([inches, , bar]) => ({
    ...value('pressureHpa', inches, hpaPerInchHg),
    ...value('pressureHpa', bar, 1000),
  }),
}

const mpsPerUnit: Readonly<Record<string, number>> = {
  M: 1,
  K: 1 / 3.6,
  N: 1852 / 3600,
  S: 0.44704,
}

const windSpeed = (text: string | undefined, unit: string | undefined): FoundFigures =>
  value('windSpeedMps', text, mpsPerUnit[unit ?? ''] ?? Number.NaN)

/** By the operator's table, else by type and unit, as long as only one transducer outside can be meant. */
function transducerValues(fields: readonly string[], given: TransducerFields): SentenceRead {
  const byName = new Map(Object.entries(given).map(([name, field]) => [fold(name), field]))
  const figures: FoundFigures = {}
  const unknown: string[] = []
  const plain: { name: string; found: FoundFigures }[] = []
  for (let at = 0; at + 2 < fields.length; at += 4) {
    const [type, text, unit, name = ''] = fields.slice(at, at + 4)
    const field = byName.get(fold(name))
    if (field !== undefined) Object.assign(figures, inUnit(field, text, unit))
    else if (namedField([name]) === 'other') unknown.push(name)
    else {
      const found = byType(type, text, unit)
      if (Object.keys(found).length > 0) plain.push({ name, found })
      else if (name !== '') unknown.push(name)
    }
  }
  for (const { name, found } of plain) {
    const [quantity] = Object.keys(found) as [WeatherField]
    const rivals = plain.filter(({ found: other }) => quantity in other)
    if (rivals.length === 1 && !(quantity in figures)) Object.assign(figures, found)
    else unknown.push(name)
  }
  return { figures, unknown }
}

/** C in degrees Celsius, H in percent, P in bar (B) or pascal (P). */
function byType(type = '', text = '', unit = ''): FoundFigures {
  if (type === 'C' && unit === 'C') return value('temperatureC', text, 1)
  if (type === 'H' && unit === 'P') return value('humidityPercent', text, 1)
  if (type === 'P' && (unit === 'B' || unit === 'P')) return inUnit('pressureHpa', text, unit)
  return {}
}

/** The letter after a transducer's value, for fields that may come in several units. */
function inUnit(field: WeatherField, text: string | undefined, unit = ''): FoundFigures {
  if (field === 'pressureHpa')
    return value(field, text, unit === 'B' ? 1000 : unit === 'P' ? 0.01 : 1)
  if (field === 'windSpeedMps' || field === 'windGustMps')
    return value(field, text, mpsPerUnit[unit] ?? 1)
  return value(field, text, 1)
}

function value(field: WeatherField, text: string | undefined, factor: number): FoundFigures {
  if (text === undefined || text.trim() === '') return {}
  const figure = Number(text) * factor
  return Number.isFinite(figure) ? { [field]: figure } : {}
}
