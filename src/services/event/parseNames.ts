import { basename } from 'node:path'
import { Failure } from '../../runtime/failure.js'
import { parseCall } from '../callWords.js'
import { findColumns } from '../data/columns.js'
import { readCsvTable } from '../data/csvTable.js'
import { readDataFile } from '../data/readDataFile.js'
import { type Loaded, quoted, type Rejected, rejectedList } from '../data/rejected.js'
import { everyName, tacticalName } from './tacticalNames.js'

/** A row of the file. */
export interface NameEntry {
  readonly name: string
  /** undefined where nobody holds it yet */
  readonly call: string | undefined
  /** lists that it is in, upper case */
  readonly lists: readonly string[]
}

/** Header texts, folded as foldHeader does. */
const fields = {
  name: ['name', 'tactical', 'tacticalname', 'nom', 'nombre', 'nome'],
  call: ['call', 'callsign', 'rufzeichen', 'indicatif', 'indicativo', 'nominativo'],
  list: ['list', 'lists', 'group', 'liste', 'lista', 'gruppe', 'groupe', 'grupo', 'gruppo'],
} as const satisfies Record<string, readonly string[]>
type NameField = keyof typeof fields

const entriesMax = 200

/** A CSV of tactical names: name, call and, with '/' or ';' between them, lists. Rows that are wrong are named and left out. */
export function parseNames(text: string): Loaded<NameEntry> | { readonly got: string } {
  const table = readCsvTable(text)
  const found = findColumns<NameField>(table.header, fields)
  const columns = found.ok ? found.columns : {}
  if (columns.name === undefined || columns.call === undefined)
    return { got: `the columns ${table.header.map(quoted).join(', ')}` }
  const rejected = rejectedList()
  for (const one of table.rejected) rejected.add(one)
  const entries: NameEntry[] = []
  for (const { line, cells } of table.rows) {
    const cell = (field: NameField): string => cells[columns[field] ?? -1]?.trim() ?? ''
    const entry = readRow(line, cell, entries)
    if ('expected' in entry) rejected.add(entry)
    else entries.push(entry)
  }
  return { entries, rejected: rejected.list, rejectedCount: rejected.count }
}

function readRow(
  line: number,
  cell: (field: NameField) => string,
  before: readonly NameEntry[],
): NameEntry | Rejected {
  const wrong = (field: NameField, expected: string): Rejected => ({
    ...{ line, field, got: quoted(cell(field)), expected },
  })
  const name = tacticalName(cell('name'))
  if (name === undefined)
    return wrong('name', '2 to 9 letters and digits that are no call sign, such as CHECK3')
  if (before.some((one) => one.name === name)) return wrong('name', 'each name once')
  if (before.length >= entriesMax) return wrong('name', `at most ${entriesMax} names`)
  const call = cell('call') === '' ? undefined : parseCall(cell('call'))
  if (cell('call') !== '' && call === undefined) return wrong('call', 'a call sign, or nothing')
  const lists = cell('list')
    .split(/[/;]/)
    .map((one) => one.trim().toUpperCase())
    .filter((one) => one !== '')
  const odd = lists.find((list) => tacticalName(list) === undefined || list === everyName)
  if (odd !== undefined) return wrong('list', 'lists of 2 to 9 letters and digits, not ALL')
  return { name, call, lists }
}

/** @throws Failure 'data-unreadable', 'data-too-large', or 'names-unusable' when needed columns are missing */
export async function loadNames(file: string): Promise<Loaded<NameEntry>> {
  const parsed = parseNames(await readDataFile(file, 'a CSV file of tactical names'))
  if ('entries' in parsed) return parsed
  throw new Failure({
    ...{ code: 'names-unusable', subject: basename(file), got: parsed.got },
    expected: 'columns name and call',
    advice: 'name the columns in the first line: name,call,list',
  })
}
