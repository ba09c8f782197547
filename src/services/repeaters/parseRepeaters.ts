import { parseLocator } from '../../aprs/locator.js'
import { type ColumnMap, findColumns, type GivenColumns, unitOfHeader } from '../data/columns.js'
import { type CsvRow, readCsvTable } from '../data/csvTable.js'
import { parseAngle, parseDecimal } from '../data/figures.js'
import { type Loaded, quoted, type Rejected, rejectedList } from '../data/rejected.js'
import type { AccessTone, RepeaterEntry } from './entry.js'
import { type RepeaterField, repeaterFields } from './headers.js'

export type RepeaterColumns = GivenColumns<RepeaterField>

export type RepeatersResult =
  | ({
      readonly ok: true
      readonly header: readonly string[]
      readonly columns: ColumnMap<RepeaterField>
    } & Loaded<RepeaterEntry>)
  /** the table as a whole cannot be used */
  | {
      readonly ok: false
      readonly header: readonly string[]
      readonly got: string
      readonly expected: string
    }

/** A country's directory has some ten thousand; memory has an end. */
const repeatersMax = 200_000

/**
 * Reads a directory of repeaters. Rows that are wrong are left out and named; all others are loaded.
 * Frequencies are MHz unless the header names a unit or the figure can only be kHz or Hz.
 * @param given field to header text, for headers that are not recognised
 */
export function parseRepeaters(text: string, given: RepeaterColumns = {}): RepeatersResult {
  const table = readCsvTable(text)
  const { header } = table
  const found = findColumns<RepeaterField>(header, repeaterFields, given)
  if (!found.ok) {
    const got = `no column ${found.unknownHeaders.map(quoted).join(', ')}`
    return { ok: false, header, got, expected: `the columns ${headerWords(header)}` }
  }
  const { columns } = found
  const missing = missingFields(columns)
  if (missing.length > 0) {
    const got = header.length === 0 ? 'an empty file' : `the columns ${headerWords(header)}`
    return { ok: false, header, got, expected: `columns for ${missing.join(', ')}` }
  }
  const rejected = rejectedList()
  for (const one of table.rejected) rejected.add(one)
  const entries: RepeaterEntry[] = []
  const units = { output: unit(header, columns.output), offset: unit(header, columns.offset) }
  for (const row of table.rows) {
    const entry = readRow(row, columns, units)
    if ('expected' in entry) rejected.add(entry)
    else if (entries.length < repeatersMax) entries.push(entry)
    else rejected.add({ line: row.line, got: 'one more row', expected: `${repeatersMax} at most` })
  }
  rejected.list.sort((a, b) => a.line - b.line)
  return {
    ok: true,
    header,
    columns,
    entries,
    rejected: rejected.list,
    rejectedCount: rejected.count,
  }
}

type Units = Readonly<Record<'output' | 'offset', 'hz' | 'khz' | 'mhz' | undefined>>

const unit = (header: readonly string[], at: number | undefined) =>
  at === undefined ? undefined : unitOfHeader(header[at]!)

/** The first of them: a file of another kind may seem to have hundreds. */
const headerWords = (header: readonly string[]): string =>
  header.slice(0, 12).map(quoted).join(', ') + (header.length > 12 ? ', ..' : '')

function missingFields(columns: ColumnMap<RepeaterField>): string[] {
  const missing: string[] = []
  if (columns.output === undefined) missing.push('output (frequency)')
  if (columns.name === undefined && columns.call === undefined) missing.push('name or call')
  const place = columns.latitude !== undefined && columns.longitude !== undefined
  if (!place && columns.locator === undefined) missing.push('latitude and longitude, or locator')
  return missing
}

function readRow(
  row: CsvRow,
  columns: ColumnMap<RepeaterField>,
  units: Units,
): RepeaterEntry | Rejected {
  const cell = (field: RepeaterField): string => {
    const at = columns[field]
    return at === undefined ? '' : (row.cells[at] ?? '').replace(/\s+/g, ' ').trim()
  }
  const wrong = (field: RepeaterField, expected: string): Rejected => ({
    line: row.line,
    field,
    got: quoted(cell(field)),
    expected,
  })
  const name = cell('name')
  const call = cell('call').toUpperCase()
  if (name === '' && call === '')
    return wrong(columns.name === undefined ? 'call' : 'name', 'a name or a call sign')
  const outputMHz = parseFrequency(cell('output'), units.output)
  if (outputMHz === undefined) return wrong('output', 'a frequency from 28 to 10500 MHz')
  const offset = readOffset(cell('offset'), cell('input'), outputMHz, units)
  if (offset === undefined)
    return cell('input') === ''
      ? wrong('offset', 'an offset such as -0.6, or a sign')
      : wrong('input', 'a frequency from 28 to 10500 MHz')
  const tone = parseTone(cell('tone'))
  if (tone === 'wrong')
    return wrong('tone', 'a tone from 60 to 260 Hz, a code such as D023, or nothing')
  const place = readPlace(cell)
  if (typeof place === 'string') return wrong(place, expectedOfPlace[place])
  return {
    name,
    call,
    outputMHz,
    offset,
    mode: cell('mode').toUpperCase() || 'FM',
    ...place,
    ...(tone === undefined ? {} : { accessTone: tone }),
  }
}

const expectedOfPlace = {
  latitude: 'degrees from -90 to 90',
  longitude: 'degrees from -180 to 180',
  locator: 'a locator of 6 or 8 characters',
}

function readPlace(
  cell: (field: RepeaterField) => string,
): { latitudeDeg: number; longitudeDeg: number } | keyof typeof expectedOfPlace {
  if (cell('latitude') !== '' || cell('longitude') !== '' || cell('locator') === '') {
    const latitudeDeg = parseAngle(cell('latitude'), 'NS')
    if (latitudeDeg === undefined) return 'latitude'
    const longitudeDeg = parseAngle(cell('longitude'), 'EW')
    if (longitudeDeg === undefined) return 'longitude'
    return { latitudeDeg, longitudeDeg }
  }
  const locator = cell('locator')
  return (locator.length >= 6 ? parseLocator(locator)?.centre : undefined) ?? 'locator'
}

const perMHz = { hz: 1e6, khz: 1e3, mhz: 1 }

/** In MHz; without a named unit the size tells: nothing below 10,500 can be kHz, nothing below 28,000,000 can be Hz. */
function parseFrequency(text: string, headerUnit: Units['output']): number | undefined {
  const found = /^(.*?)\s*(k|m)?(?:hz)?$/i.exec(text)
  const value = parseDecimal(found?.[1] ?? '')
  if (value === undefined) return undefined
  const named = found?.[2] ? (`${found[2].toLowerCase()}hz` as 'khz' | 'mhz') : headerUnit
  const guessed = value >= 28_000_000 ? 'hz' : value >= 28_000 ? 'khz' : 'mhz'
  const megahertz = Number((value / perMHz[named ?? guessed]).toFixed(6))
  return megahertz >= 28 && megahertz <= 10_500 ? megahertz : undefined
}

/** From the offset's own cell, else from the input frequency; none of both is simplex. */
function readOffset(
  offsetText: string,
  inputText: string,
  outputMHz: number,
  units: Units,
): RepeaterEntry['offset'] | undefined {
  if (offsetText !== '') return parseOffset(offsetText, units.offset)
  if (inputText === '') return { sign: 0 }
  const inputMHz = parseFrequency(inputText, units.output)
  return inputMHz === undefined ? undefined : signedOffset(inputMHz - outputMHz)
}

function parseOffset(
  text: string,
  headerUnit: Units['offset'],
): RepeaterEntry['offset'] | undefined {
  if (text === '-' || text === '+') return { sign: text === '-' ? -1 : 1 }
  if (/^(simplex|s|none|no|off)$/i.test(text)) return { sign: 0 }
  const found = /^(.*?)\s*(k|m)?(?:hz)?$/i.exec(text)
  const value = parseDecimal(found?.[1] ?? '')
  if (value === undefined) return undefined
  const named = found?.[2] ? (`${found[2].toLowerCase()}hz` as 'khz' | 'mhz') : headerUnit
  const size = Math.abs(value)
  const guessed = size >= 100_000 ? 'hz' : size >= 100 ? 'khz' : 'mhz'
  const megahertz = value / perMHz[named ?? guessed]
  return Math.abs(megahertz) <= 100 ? signedOffset(megahertz) : undefined
}

function signedOffset(megahertz: number): RepeaterEntry['offset'] {
  const shiftMHz = Number(Math.abs(megahertz).toFixed(6))
  return shiftMHz === 0 ? { sign: 0 } : { sign: megahertz < 0 ? -1 : 1, shiftMHz }
}

/** Tones of repeaters lie from 60 to 260 Hz; codes are three octal digits (common practice, no source). */
function parseTone(text: string): AccessTone | undefined | 'wrong' {
  if (text === '' || /^(none|no|off|0|0[.,]0|-|csq|carrier|n\/a)$/i.test(text)) return undefined
  const code = /^(?:d|dcs|dpl|dtcs)\s*-?\s*([0-7]{3})\s*(?:n|r|dpl)?$|^([0-7]{3})\s*dpl$/i.exec(
    text,
  )
  if (code) return { kind: 'code', code: (code[1] ?? code[2])! }
  const figure = /^(?:t|pl|ctcss|tone)?\s*([\d.,]+)\s*(?:hz)?$/i.exec(text)
  const toneHz = parseDecimal(figure?.[1] ?? '')
  return toneHz !== undefined && toneHz >= 60 && toneHz <= 260 ? { kind: 'tone', toneHz } : 'wrong'
}
