import { json2satrec, type OMMJsonObject, type SatRec } from 'satellite.js'
import { errorText } from '../../runtime/errorText.js'
import { readCsvTable } from '../data/csvTable.js'
import { linesOf } from '../data/lines.js'
import { isRejected, quoted, type Rejected } from '../data/rejected.js'
import { withoutRemarks } from '../data/remarks.js'
import { type ElementSet, elementSetOf } from './elementSet.js'
import { remarked, saysInvented } from './remarks.js'

/** One orbit mean-elements message: its keywords and values as text, and where it begins. */
interface OmmMessage {
  readonly line: number
  readonly values: Readonly<Record<string, string>>
}

/** The four ways in which CCSDS 502.0-B-3 and its users write an orbit mean-elements message (OMM). */
export type OmmForm = 'kvn' | 'xml' | 'json' | 'csv'

/** Reads any number of messages in one of the four forms. */
export function* ommSets(text: string, form: OmmForm): Generator<ElementSet | Rejected> {
  for (const message of readers[form](text))
    yield isRejected(message) ? message : readMessage(message)
}

/** One message after another: a file may have 100,000, and is large. */
type Reader = (text: string) => Generator<OmmMessage | Rejected>

const readers: Readonly<Record<OmmForm, Reader>> = {
  kvn: readKvn,
  xml: readXml,
  json: readJson,
  csv: readCsv,
}

/** Lines `KEYWORD = value [unit]`; a message begins with its version, or, where that is left out, with its name. */
function* readKvn(text: string): Generator<OmmMessage | Rejected> {
  let open: { line: number; values: Record<string, string> } | undefined
  let number = 0
  for (const line of linesOf(text)) {
    number++
    const trimmed = line.trim()
    if (trimmed === '' || trimmed.startsWith('#')) continue
    if (trimmed.startsWith('COMMENT')) {
      if (open !== undefined) open.values.COMMENT = `${open.values.COMMENT ?? ''} ${trimmed}`
      continue
    }
    const found = /^([A-Z0-9_]+)\s*=\s*(.*)$/.exec(trimmed)
    if (!found) {
      yield { line: number, got: quoted(trimmed), expected: 'KEYWORD = value' }
      continue
    }
    const [, keyword = '', said = ''] = found
    const value = withoutUnit(said)
    const begins =
      keyword === 'CCSDS_OMM_VERS' ||
      (keyword === 'OBJECT_NAME' && open?.values.OBJECT_NAME !== undefined)
    if (open !== undefined && !begins) open.values[keyword] = value
    else {
      if (open !== undefined) yield open
      open = { line: number, values: { [keyword]: value } }
    }
  }
  if (open !== undefined) yield open
}

/** `51.6 [deg]` without the unit in brackets at its end. */
function withoutUnit(value: string): string {
  const at = value.endsWith(']') ? value.lastIndexOf('[') : -1
  return (at === -1 ? value : value.slice(0, at)).trim()
}

/** The leaves of each <omm>; the schema nests them, but no keyword stands twice. */
function* readXml(text: string): Generator<OmmMessage | Rejected> {
  const bare = withoutRemarks(text, (remark) => remark.replace(/[^\n]/g, ' '))
  const lineAt = lineCounter(bare)
  for (const found of bare.matchAll(/<omm\b[^<>]*>([\s\S]*?)(<\/omm>|$)/g)) {
    const line = lineAt(found.index)
    if (found[2] === '') {
      yield { line, got: 'the end of the file', expected: '</omm>' }
      continue
    }
    const values: Record<string, string> = {}
    for (const leaf of found[1]!.matchAll(/<([A-Z0-9_]+)(?:\s[^<>]*)?>([^<]*)<\/\1>/g))
      values[leaf[1]!] =
        leaf[1] === 'COMMENT'
          ? `${values.COMMENT ?? ''} ${unescapeXml(leaf[2]!.trim())}`
          : unescapeXml(leaf[2]!.trim())
    yield { line, values }
  }
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
function* readJson(text: string): Generator<OmmMessage | Rejected> {
  const lineAt = lineCounter(text)
  let end = 0
  for (const { from, to } of outermostObjects(text)) {
    yield* strayText(text.slice(end, from), lineAt, end)
    end = to
    const line = lineAt(from)
    if (from === to) return
    const read = objectOf(text.slice(from, to))
    if (typeof read === 'string') yield { line, got: read, expected: 'JSON' }
    else {
      const pairs = Object.entries(read).map(([key, value]) => [key, String(value ?? '')])
      yield { line, values: Object.fromEntries(pairs) as Record<string, string> }
    }
  }
}

/** What stands between the objects, besides what an array has there. */
function* strayText(
  between: string,
  lineAt: (at: number) => number,
  from: number,
): Generator<Rejected> {
  const at = between.search(/[^\s,[\]]/)
  if (at === -1) return
  const got = quoted(between.slice(at).trim())
  yield { line: lineAt(from + at), got, expected: 'an object with the keywords of an OMM' }
}

/** The object, or what is wrong with it. */
function objectOf(text: string): object | string {
  try {
    return JSON.parse(text) as object
  } catch (error) {
    return errorText(error)
  }
}

/** Each with its braces; at last the end of the text, as an object without length. */
function* outermostObjects(text: string): Generator<{ from: number; to: number }> {
  let depth = 0
  let from = 0
  for (const { 0: token, index } of text.matchAll(/"[^"\\]*(?:\\.[^"\\]*)*(?:"|$)|[{}]/g)) {
    if (token === '{' && depth++ === 0) from = index
    else if (token === '}' && depth > 0 && --depth === 0) yield { from, to: index + 1 }
  }
  if (depth > 0) yield { from, to: text.length }
  yield { from: text.length, to: text.length }
}

/** The line of a place in a text; asked for places in order, it looks at each character once. */
function lineCounter(text: string): (at: number) => number {
  let line = 1
  let next = text.indexOf('\n')
  return (at) => {
    while (next !== -1 && next < at) {
      line++
      next = text.indexOf('\n', next + 1)
    }
    return line
  }
}

/** A table whose header has the keywords. */
function* readCsv(text: string): Generator<OmmMessage | Rejected> {
  const table = readCsvTable(text)
  yield* table.rejected
  for (const row of table.rows)
    yield {
      line: row.line,
      values: Object.fromEntries(
        table.header.map((key, at) => [key, (row.cells[at] ?? '').trim()]),
      ),
    }
}

/** Values that may only say what SGP4 is made for. */
const fixedValues: Readonly<Record<string, RegExp>> = {
  CENTER_NAME: /^EARTH$/i,
  REF_FRAME: /^TEME$/i,
  TIME_SYSTEM: /^UTC$/i,
  MEAN_ELEMENT_THEORY: /^(SGP4|SGP\/SGP4)$/i,
  EPHEMERIS_TYPE: /^0$/,
}

/** [keyword, smallest, largest, may be left out] */
const limits = [
  ['MEAN_MOTION', 0.0001, 20],
  ['ECCENTRICITY', 0, 0.999999],
  ['INCLINATION', 0, 180],
  ['RA_OF_ASC_NODE', -360, 360],
  ['ARG_OF_PERICENTER', -360, 360],
  ['MEAN_ANOMALY', -360, 360],
  ['BSTAR', -10, 10, true],
  ['MEAN_MOTION_DOT', -Number.MAX_VALUE, Number.MAX_VALUE, true],
  ['MEAN_MOTION_DDOT', -Number.MAX_VALUE, Number.MAX_VALUE, true],
] as const

const decimal = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i

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
  for (const [field, min, max, optional = false] of limits) {
    const value = values[field] ?? ''
    if (value === '' && optional) continue
    const isRight = decimal.test(value) && Number(value) >= min && Number(value) <= max
    if (!isRight) return wrong(field, max > 1e6 ? 'a number' : `a number from ${min} to ${max}`)
  }
  const epoch = isoDate(values.EPOCH ?? '')
  if (epoch === undefined) return wrong('EPOCH', 'a date and time, such as 2026-06-21T03:04:05.678')
  const set = elementSetOf(ownText(values.OBJECT_NAME ?? ''), recordOf(values, epoch))
  if (set === undefined)
    return { line, got: quoted(values.OBJECT_NAME ?? ''), expected: 'elements for SGP4' }
  const said = values.COMMENT ?? ''
  return { ...set, ...remarked(said, saysInvented(said)) }
}

/** Holds on to figures only, not to the texts of the file. */
function recordOf(values: Readonly<Record<string, string>>, epoch: string): () => SatRec {
  const number = (field: string): number => Number(values[field] ?? '0')
  const epochWallMs = Date.parse(epoch)
  const catalogNumber = ownText(values.NORAD_CAT_ID ?? '')
  const [meanMotion, eccentricity, bstar] = [
    number('MEAN_MOTION'),
    number('ECCENTRICITY'),
    number('BSTAR'),
  ]
  const [inclination, node, perigee, anomaly] = [
    number('INCLINATION'),
    number('RA_OF_ASC_NODE'),
    number('ARG_OF_PERICENTER'),
    number('MEAN_ANOMALY'),
  ]
  return () =>
    json2satrec({
      EPOCH: new Date(epochWallMs).toISOString(),
      NORAD_CAT_ID: catalogNumber,
      ...{ MEAN_MOTION: meanMotion, ECCENTRICITY: eccentricity, BSTAR: bstar },
      ...{ INCLINATION: inclination, RA_OF_ASC_NODE: node },
      ...{ ARG_OF_PERICENTER: perigee, MEAN_ANOMALY: anomaly },
      // SGP4 does not use the rates of the mean motion.
      ...{ MEAN_MOTION_DOT: 0, MEAN_MOTION_DDOT: 0 },
    } as unknown as OMMJsonObject)
}

/** A copy: a piece of a text keeps the whole of it in memory. */
const ownText = (piece: string): string => Buffer.from(piece).toString()

/** A calendar date, or one by day of the year, which CCSDS allows too; to the millisecond. */
function isoDate(text: string): string | undefined {
  const found = /^(\d{4})-(?:(\d{2})-(\d{2})|(\d{3}))T(\d{2}:\d{2}:\d{2}(?:\.\d+)?)Z?$/.exec(text)
  if (!found) return undefined
  const [, year = '', month, day, dayOfYear, time = ''] = found
  const startMs =
    dayOfYear === undefined
      ? Date.UTC(Number(year), Number(month) - 1, Number(day))
      : Date.UTC(Number(year), 0, Number(dayOfYear))
  const date = new Date(startMs).toISOString().slice(0, 10)
  // What is past the end of its month or year would go over into the next.
  if (date.slice(0, 4) !== year || (dayOfYear === undefined && date.slice(5) !== `${month}-${day}`))
    return undefined
  const iso = `${date}T${time}Z`
  return Number.isNaN(Date.parse(iso)) ? undefined : iso
}
