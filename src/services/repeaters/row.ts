import type { CsvRow } from '../data/csvTable.js'
import { quoted, type Rejected, type Warned } from '../data/rejected.js'
import { type RepeaterField, wordsOfHeader } from './headers.js'

/** A row of a directory while it is read. */
export interface RepeaterRow {
  readonly line: number
  /** what stands in the field's column, blanks made one; '' where there is nothing or no such column */
  cell(field: RepeaterField): string
  has(field: RepeaterField): boolean
  /** the header's own words; '' where there is no such column */
  headerWords(field: RepeaterField): string
  /** why the row cannot be used */
  wrong(field: RepeaterField, expected: string, got?: string): Rejected
  /** the row is used, but this of it is not, or is taken for something that a person should look at */
  warn(field: RepeaterField, taken: string): void
}

/** Nothing that a cell of a directory means is longer. */
const cellCharactersMax = 200

export function repeaterRow(
  row: CsvRow,
  header: readonly string[],
  columns: Readonly<Partial<Record<RepeaterField, number>>>,
  onWarning: (warned: Warned) => void,
): RepeaterRow {
  const cell = (field: RepeaterField): string => {
    const at = columns[field]
    if (at === undefined) return ''
    return (row.cells[at] ?? '').replace(/\s+/g, ' ').trim().slice(0, cellCharactersMax)
  }
  return {
    line: row.line,
    cell,
    has: (field) => columns[field] !== undefined,
    headerWords: (field) => wordsOfHeader(header[columns[field] ?? -1] ?? ''),
    wrong: (field, expected, got = quoted(cell(field))) => ({
      line: row.line,
      field,
      got,
      expected,
    }),
    warn: (field, taken) => onWarning({ line: row.line, field, got: quoted(cell(field)), taken }),
  }
}
