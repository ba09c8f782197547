import { json2satrec, type OMMJsonObject } from 'satellite.js'
import { errorText } from '../../runtime/errorText.js'
import { readCsvTable } from '../data/csvTable.js'
import { type Loaded, quoted, type Rejected, rejectedList } from '../data/rejected.js'
import { type ElementSet, elementSetOf } from './elementSet.js'

/** One orbit mean-elements message: its keywords and values as text, and where it begins. */
interface OmmMessage {
  readonly line: number
  readonly values: Readonly<Record<string, string>>
}

/** The four ways in which CCSDS 502.0-B-3 and its users write an orbit mean-elements message (OMM). */
export type OmmForm = 'kvn' | 'xml' | 'json' | 'csv'

/** Reads any number of messages in one of the four forms. */
export function parseOmm(text: string, form: OmmForm): Loaded<ElementSet> {
  const rejected = rejectedList()
  const entries: ElementSet[] = []
  const messages = readers[form](text, rejected.add)
  for (const message of messages) {
    const set = readMessage(message)
    if ('expected' in set) rejected.add(set)
    else entries.push(set)
  }
  return { entries, rejected: rejected.list, rejectedCount: rejected.count }
}

type Reader = (text: string, reject: (one: Rejected) => void) => OmmMessage[]

const readers: Readonly<Record<OmmForm, Reader>> = {
  kvn: readKvn,
  xml: readXml,
  json: readJson,
  csv: readCsv,
}

/** Lines `KEYWORD = value [unit]`; a message begins with its version, or, where that is left out, with its name. */
function readKvn(text: string, reject: (one: Rejected) => void): OmmMessage[] {
  const messages: { line: number; values: Record<string, string> }[] = []
  for (const [at, line] of text.split(/\r\n|\n|\r/).entries()) {
    const trimmed = line.trim()
    if (trimmed === '' || trimmed.startsWith('COMMENT') || trimmed.startsWith('#')) continue
    const found = /^([A-Z0-9_]+)\s*=\s*(.*?)\s*(\[[^\]]*\])?$/.exec(trimmed)
    if (!found) {
      reject({ line: at + 1, got: quoted(trimmed), expected: 'KEYWORD = value' })
      continue
    }
    const [, keyword = '', value = ''] = found
    const open = messages.at(-1)
    const begins =
      keyword === 'CCSDS_OMM_VERS' ||
      (keyword === 'OBJECT_NAME' && open?.values.OBJECT_NAME !== undefined)
    if (open === undefined || begins) messages.push({ line: at + 1, values: { [keyword]: value } })
    else open.values[keyword] = value
  }
  return messages
}

/** The leaves of each <omm>; the schema nests them, but no keyword stands twice. */
function readXml(text: string, reject: (one: Rejected) => void): OmmMessage[] {
  const messages: OmmMessage[] = []
  const bare = text.replace(/<!--[\s\S]*?-->/g, (comment) => comment.replace(/[^\n]/g, ' '))
  for (const found of bare.matchAll(/<omm\b[^>]*>([\s\S]*?)(<\/omm>|$)/g)) {
    const line = bare.slice(0, found.index).split('\n').length
    if (found[2] === '') reject({ line, got: 'the end of the file', expected: '</omm>' })
    const values: Record<string, string> = {}
    for (const leaf of found[1]!.matchAll(/<([A-Z0-9_]+)(?:\s[^>]*)?>([^<]*)<\/\1>/g))
      values[leaf[1]!] = unescapeXml(leaf[2]!.trim())
    if (found[2] !== '') messages.push({ line, values })
  }
  return messages
}

const xmlEntities: Readonly<Record<string, string>> = {
  amp: '&',
  lt: '<',
  gt: '>',
  quot: '"',
  apos: "'",
}
const unescapeXml = (text: string): string =>
  text.replace(/&(\w+);/g, (whole, name: string) => xmlEntities[name] ?? whole)

/** An object, or an array of objects, with the keywords as keys; figures as numbers or as text. */
function readJson(text: string, reject: (one: Rejected) => void): OmmMessage[] {
  let document: unknown
  try {
    document = JSON.parse(text)
  } catch (error) {
    const got = errorText(error)
    reject({ line: 1, got, expected: 'JSON' })
    return []
  }
  const list: unknown[] = Array.isArray(document) ? document : [document]
  const lines = linesOfObjects(text)
  return list.flatMap((one, at) => {
    const line = lines[at] ?? 1
    if (typeof one === 'object' && one !== null) {
      const pairs = Object.entries(one).map(([key, value]) => [key, String(value ?? '')])
      return [{ line, values: Object.fromEntries(pairs) as Record<string, string> }]
    }
    reject({ line, got: quoted(String(one)), expected: 'an object with the keywords of an OMM' })
    return []
  })
}

/** The line on which each outermost object begins. */
function linesOfObjects(text: string): number[] {
  const lines: number[] = []
  let depth = 0
  let line = 1
  for (const [token] of text.matchAll(/"(?:[^"\\]|\\.)*"|[{}]|\n/g)) {
    if (token === '\n') line++
    else if (token === '{' && depth++ === 0) lines.push(line)
    else if (token === '}') depth--
  }
  return lines
}

/** A table whose header has the keywords. */
function readCsv(text: string, reject: (one: Rejected) => void): OmmMessage[] {
  const table = readCsvTable(text)
  for (const one of table.rejected) reject(one)
  return table.rows.map((row) => ({
    line: row.line,
    values: Object.fromEntries(table.header.map((key, at) => [key, (row.cells[at] ?? '').trim()])),
  }))
}

/** Values that may only say what SGP4 is made for. */
const fixedValues: Readonly<Record<string, RegExp>> = {
  CENTER_NAME: /^EARTH$/i,
  REF_FRAME: /^TEME$/i,
  TIME_SYSTEM: /^UTC$/i,
  MEAN_ELEMENT_THEORY: /^(SGP4|SGP\/SGP4)$/i,
  EPHEMERIS_TYPE: /^0$/,
}

const limits = [
  ['MEAN_MOTION', 0.0001, 20],
  ['ECCENTRICITY', 0, 0.999999],
  ['INCLINATION', 0, 180],
  ['RA_OF_ASC_NODE', -360, 360],
  ['ARG_OF_PERICENTER', -360, 360],
  ['MEAN_ANOMALY', -360, 360],
] as const

function readMessage({ line, values }: OmmMessage): ElementSet | Rejected {
  const wrong = (field: string, expected: string): Rejected => ({
    line,
    field,
    got: quoted(values[field] ?? ''),
    expected,
  })
  for (const [field, allowed] of Object.entries(fixedValues)) {
    const value = values[field]
    if (value !== undefined && value !== '' && !allowed.test(value))
      return wrong(field, `what SGP4 needs (${allowed.source.replace(/[\^$()\\]/g, '')})`)
  }
  for (const [field, min, max] of limits) {
    const value = values[field] ?? ''
    if (value === '' || !(Number(value) >= min && Number(value) <= max))
      return wrong(field, `a number from ${min} to ${max}`)
  }
  for (const field of ['BSTAR', 'MEAN_MOTION_DOT', 'MEAN_MOTION_DDOT'])
    if (!Number.isFinite(Number(values[field] ?? '0'))) return wrong(field, 'a number')
  const epoch = isoDate(values.EPOCH ?? '')
  if (epoch === undefined) return wrong('EPOCH', 'a date and time, such as 2026-06-21T03:04:05.678')
  const record = json2satrec({
    ...values,
    EPOCH: epoch,
    NORAD_CAT_ID: values.NORAD_CAT_ID ?? '',
    BSTAR: values.BSTAR ?? '0',
    MEAN_MOTION_DOT: values.MEAN_MOTION_DOT ?? '0',
    MEAN_MOTION_DDOT: values.MEAN_MOTION_DDOT ?? '0',
  } as unknown as OMMJsonObject)
  const set = elementSetOf(values.OBJECT_NAME ?? '', record)
  return set ?? { line, got: quoted(values.OBJECT_NAME ?? ''), expected: 'elements for SGP4' }
}

/** A calendar date, or one by day of the year, which CCSDS allows too; to the millisecond. */
function isoDate(text: string): string | undefined {
  const found = /^(\d{4})-(?:(\d{2})-(\d{2})|(\d{3}))T(\d{2}:\d{2}:\d{2}(?:\.\d+)?)Z?$/.exec(text)
  if (!found) return undefined
  const [, year = '', month, day, dayOfYear, time = ''] = found
  if (dayOfYear === undefined && Number.isNaN(Date.parse(`${year}-${month}-${day}`)))
    return undefined
  if (dayOfYear !== undefined && (Number(dayOfYear) < 1 || Number(dayOfYear) > 366))
    return undefined
  const startMs =
    dayOfYear === undefined
      ? Date.UTC(Number(year), Number(month) - 1, Number(day))
      : Date.UTC(Number(year), 0, Number(dayOfYear))
  const date = new Date(startMs).toISOString().slice(0, 10)
  const iso = `${date}T${time}Z`
  return Number.isNaN(Date.parse(iso)) ? undefined : iso
}
