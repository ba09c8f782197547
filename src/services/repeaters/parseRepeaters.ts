import { type CsvRow, type CsvTable, readCsvTable } from '../data/csvTable.js'
import { linesOf } from '../data/lines.js'
import {
  gatheredList,
  type Loaded,
  quoted,
  type Rejected,
  rejectedList,
  type Warned,
} from '../data/rejected.js'
import { readAvailability } from './availability.js'
import type { HeaderRemark } from './doubledColumns.js'
import { isPlaced, type RepeaterEntry } from './entry.js'
import { fieldWords, type RepeaterField } from './headers.js'
import { knowledgeOf } from './listKnowledge.js'
import { mergeModes, type ReadRow } from './mergeModes.js'
import { joinModes, knownMode, parseYesNo, readModes } from './modes.js'
import { readPlace } from './place.js'
import { type RepeaterRow, repeaterRow } from './row.js'
import { frequencyFields, readFrequencies } from './rowShift.js'
import { readAccess, type Viewpoint } from './rowTone.js'
import { findRepeaterColumns, type RepeaterColumns, type TableColumns } from './tableColumns.js'

export type { RepeaterColumns } from './tableColumns.js'

/** Why rows were left out, or used with a warning, and how many. */
export interface ReasonCount {
  readonly reason: string
  readonly count: number
}

export type RepeatersResult =
  | ({
      readonly ok: true
      readonly header: readonly string[]
      /** of each column of the header: what it is taken for, in words; undefined when it is not used */
      readonly meanings: readonly (string | undefined)[]
      /** the first row, for showing what stands where */
      readonly firstCells: readonly string[]
      readonly warned: readonly Warned[]
      readonly warnedCount: number
      readonly leftOutReasons: readonly ReasonCount[]
      readonly warnedReasons: readonly ReasonCount[]
      /** rows that told of a repeater again, such as in another mode */
      readonly mergedCount: number
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
 * Reads a directory of repeaters in whatever columns it has. Rows that are wrong, or contradict themselves, are left out and
 * named; what is doubtful is warned about; all others are loaded.
 * Frequencies are MHz unless header or cell names a unit or the figure can only be kHz or Hz.
 * @param given field to header text, for headers that are not recognised
 */
export function parseRepeaters(text: string, given: RepeaterColumns = {}): RepeatersResult {
  const table = tableOf(text, given)
  const { header } = table
  const found = findRepeaterColumns(header, table.rows, given)
  if (!found.ok) {
    const got = `no column ${found.unknownHeaders.map(quoted).join(', ')}`
    return { ok: false, header, got, expected: `the columns ${headerList(header)}` }
  }
  if (found.doubles.unclear !== undefined)
    return {
      ok: false,
      header,
      got: `${found.doubles.unclear}, which both look like the output`,
      expected:
        'one output; which is output and which input is not to be seen from their figures: name them, as in --map output=HEADER,input=HEADER (or the numbers of the columns)',
    }
  const list = knowledgeOf(table.rows, found.columns, found.units, header)
  const missing = missingFields(found.columns, list.viewpoint)
  if (missing.length > 0) {
    const got = header.length === 0 ? 'an empty file' : `the columns ${headerList(header)}`
    return { ok: false, header, got, expected: `columns for ${missing.join(', ')}` }
  }
  const rejected = rejectedList()
  for (const one of table.rejected) rejected.add(one)
  const warned = gatheredList<Warned>(({ field, taken }) => `${field ?? 'row'}: ${taken}`)
  for (const one of [...found.doubles.remarks, ...sideRemarks(header, found, list)])
    warned.add({ line: table.headerLine, ...one })
  const read: ReadRow[] = []
  for (const row of table.rows) {
    if (row.cells[0]?.startsWith('#')) continue
    const warnings: Warned[] = []
    const one = repeaterRow(row, header, found.columns, (warning) => warnings.push(warning))
    const entry = wrongLength(row, header) ?? readRow(one, row, found, list)
    if ('expected' in entry) rejected.add(entry)
    else if (read.length < repeatersMax) {
      for (const warning of warnings) warned.add(warning)
      read.push({ line: row.line, entry })
    } else
      rejected.add({ line: row.line, got: 'one more row', expected: `${repeatersMax} at most` })
  }
  const placeless = read.filter(({ entry }) => !isPlaced(entry))
  if (placeless.length > 0)
    warned.add({
      line: placeless[0]!.line,
      got: 'no place',
      taken: `told without a distance, here and in ${placeless.length - 1} more rows`,
    })
  const merged = mergeModes(read)
  for (const one of merged.rejected) rejected.add(one)
  rejected.list.sort((a, b) => a.line - b.line)
  return {
    ok: true,
    header,
    meanings: meaningsOf(header, found, list),
    firstCells: table.rows[0]?.cells ?? [],
    entries: merged.entries,
    mergedCount: merged.mergedCount,
    rejected: rejected.list,
    rejectedCount: rejected.count,
    leftOutReasons: rejected.reasons(),
    warned: warned.list,
    warnedCount: warned.count,
    warnedReasons: warned.reasons(),
  }
}

/** A title or a remark may stand above the header. */
const linesAboveMax = 15

/** The table from its header on: the first line that names what a directory needs, else the first that is filled. */
function tableOf(text: string, given: RepeaterColumns): CsvTable {
  let above = 0
  let from = 0
  for (const line of linesOf(text)) {
    if (above > linesAboveMax) break
    const { header } = readCsvTable(line.replace(/^#\s*/, ''))
    const found = findRepeaterColumns(header, [], given)
    if (found.ok && missingFields(found.columns, 'repeater').length === 0) {
      const start = from + (/^#\s*/.exec(line)?.[0].length ?? 0)
      return movedDown(readCsvTable(text.slice(start)), above)
    }
    above++
    from += line.length
    from += text.startsWith('\r\n', from) ? 2 : 1
  }
  return readCsvTable(text)
}

const movedDown = (table: CsvTable, lines: number): CsvTable =>
  lines === 0
    ? table
    : {
        ...table,
        headerLine: table.headerLine + lines,
        rows: table.rows.map((row) => ({ ...row, line: row.line + lines })),
        rejected: table.rejected.map((one) => ({ ...one, line: one.line + lines })),
      }

/** The first of them: a file of another kind may seem to have hundreds. */
const headerList = (header: readonly string[]): string =>
  header.slice(0, 12).map(quoted).join(', ') + (header.length > 12 ? ', ..' : '')

type Knowledge = ReturnType<typeof knowledgeOf>

function missingFields(
  columns: TableColumns['columns'],
  viewpoint: Knowledge['viewpoint'],
): string[] {
  const has = (field: RepeaterField): boolean => columns[field] !== undefined
  const missing: string[] = []
  const sidewise = has('transmit') || has('receive')
  const { inputField } = frequencyFields({ has }, viewpoint)
  const fromInput = viewpoint !== 'unknown' && inputField !== undefined && has(inputField)
  if (!has('output') && !(sidewise && viewpoint !== 'unknown') && !fromInput)
    missing.push(
      sidewise
        ? 'output (whether the repeater transmits or receives there is not to be seen: name output and input)'
        : 'output (frequency)',
    )
  if (!has('name') && !has('call')) missing.push('name or call')
  return missing
}

/** A comma inside a cell without quotation marks moves all that follows into the wrong columns. */
function wrongLength(row: CsvRow, header: readonly string[]): Rejected | undefined {
  const beyond = row.cells.slice(header.length).some((cell) => cell.trim() !== '')
  if (!beyond) return undefined
  return {
    line: row.line,
    got: `${row.cells.length} cells`,
    expected: `${header.length}; put cells that hold a separator between quotation marks`,
  }
}

function readRow(
  row: RepeaterRow,
  { cells }: CsvRow,
  { flags }: TableColumns,
  list: Knowledge,
): RepeaterEntry | Rejected {
  const name = row.cell('name')
  const call = row.cell('call').toUpperCase()
  if (name === '' && call === '')
    return row.wrong(row.has('name') ? 'name' : 'call', 'a name or a call sign')
  const frequencies = readFrequencies(row, list)
  if ('expected' in frequencies) return frequencies
  const place = readPlace(row, list.places)
  if (typeof place === 'object' && 'expected' in place) return place
  const flagged = flags.filter(({ at }) => saysMode(cells[at] ?? '')).map(({ mode }) => mode)
  const told = [...readModes(row.cell('mode')), ...flagged, ...modeInTone(row)]
  const mode = joinModes(told)
  const accessTone = readAccess(row, list.toneViewpoint, mode)
  return {
    name,
    call,
    ...frequencies,
    mode,
    ...(place === 'none'
      ? {}
      : { latitudeDeg: place.latitudeDeg, longitudeDeg: place.longitudeDeg }),
    ...(accessTone === undefined ? {} : { accessTone }),
    ...availability(row),
  }
}

/** A mode's own column may hold its code or bandwidth in place of a yes. */
const saysMode = (text: string): boolean => parseYesNo(text) ?? true

/** Lists of digital repeaters name the mode where others have a tone. */
const modeInTone = (row: RepeaterRow): string[] => {
  const mode = knownMode(row.cell('tone').toLowerCase())
  return mode === undefined || mode === 'FM' ? [] : [mode]
}

function availability(row: RepeaterRow): Pick<RepeaterEntry, 'closed' | 'offAir'> {
  const said = (['use', 'status'] as const).map((field) => {
    const one = readAvailability(row.cell(field), row.headerWords(field))
    if (!one.isKnown) row.warn(field, 'not known here: taken as open and on the air')
    return one
  })
  return {
    ...(said.some(({ closed }) => closed) ? { closed: true } : {}),
    ...(said.some(({ offAir }) => offAir) ? { offAir: true } : {}),
  }
}

const whose = { repeater: 'the repeater', user: 'its user', unknown: '' } as const

/** Who transmits under 'TX' is found from the figures, or from the other columns: a person should look at it. */
function sideRemarks(
  header: readonly string[],
  { columns }: TableColumns,
  list: Knowledge,
): HeaderRemark[] {
  const named = (fields: readonly RepeaterField[]): string =>
    fields
      .flatMap((field) => (columns[field] === undefined ? [] : [quoted(header[columns[field]!]!)]))
      .join(', ')
  const sides: readonly (readonly [Viewpoint, readonly RepeaterField[]])[] =
    list.viewpoint === list.toneViewpoint
      ? [[list.viewpoint, ['transmit', 'receive', 'toneTransmit', 'toneReceive']]]
      : [
          [list.viewpoint, ['transmit', 'receive']],
          [list.toneViewpoint, ['toneTransmit', 'toneReceive']],
        ]
  return sides.flatMap(([viewpoint, fields]) => {
    const names = named(fields)
    if (names === '' || viewpoint === 'unknown') return []
    const field = fields.find((one) => columns[one] !== undefined)!
    const side = viewpoint === 'repeater' ? "the repeater's" : "the user's"
    return [{ field, got: names, taken: `whose is not said: taken as ${side} side, please look` }]
  })
}

function meaningsOf(
  header: readonly string[],
  { columns, flags }: TableColumns,
  list: Knowledge,
): (string | undefined)[] {
  return header.map((_, at) => {
    const field = (Object.keys(columns) as RepeaterField[]).find((one) => columns[one] === at)
    if (field !== undefined) return sidedWords(field, list)
    const flag = flags.find((one) => one.at === at)
    return flag === undefined ? undefined : `mode ${flag.mode}: yes or no`
  })
}

/** What a field is in this list, where that depends on whose transmitter is meant. */
function sidedWords(field: RepeaterField, list: Knowledge): string {
  const isTone = field === 'toneTransmit' || field === 'toneReceive'
  const viewpoint = isTone ? list.toneViewpoint : list.viewpoint
  if (!(isTone || field === 'transmit' || field === 'receive') || viewpoint === 'unknown')
    return fieldWords[field]
  const transmits = field === 'transmit' || field === 'toneTransmit'
  const repeaterSends = transmits === (viewpoint === 'repeater')
  const [sent, heard] = isTone ? (['toneSent', 'tone'] as const) : (['output', 'input'] as const)
  return `${fieldWords[repeaterSends ? sent : heard]} (as seen from ${whose[viewpoint]})`
}
