import { CsvError, parse } from 'csv-parse/sync'
import { quoted, type Rejected } from './rejected.js'

export interface CsvRow {
  /** where the row begins, counted from 1 */
  readonly line: number
  readonly cells: readonly string[]
}

export interface CsvTable {
  readonly header: readonly string[]
  /** where the header stands, counted from 1 */
  readonly headerLine: number
  readonly delimiter: string
  readonly rows: readonly CsvRow[]
  readonly rejected: readonly Rejected[]
}

/** No row of a directory goes over this many lines: a longer one has a quotation mark that was never closed. */
const linesOfRowMax = 12
/** Unclosed quotation marks that are mended before the file is taken for no CSV at all. */
const mendsMax = 100

/**
 * Reads a table whose first row names its columns: comma, semicolon or tab between cells, quoted cells with line breaks,
 * blank lines. A quotation mark that is never closed costs its own row only.
 */
export function readCsvTable(content: string): CsvTable {
  // One kind of line end, or lines inside quotation marks are counted differently from those outside.
  const text = content.replace(/\r\n?/g, '\n')
  const delimiter = guessDelimiter(text)
  const lineStarts = startsOfLines(text)
  const rows: CsvRow[] = []
  const rejected: Rejected[] = []
  let fromLine = 1
  for (let mends = 0; fromLine <= lineStarts.length && mends <= mendsMax; mends++) {
    const { taken, unclosedLine } = readFrom(
      text,
      lineStarts,
      fromLine,
      delimiter,
      rows[0]?.cells.length,
    )
    for (const row of taken) rows.push(row)
    if (unclosedLine === undefined) break
    const line = text.slice(lineStarts[unclosedLine - 1], lineStarts[unclosedLine]).trim()
    rejected.push({
      line: unclosedLine,
      got: quoted(line),
      expected: 'a closing quotation mark',
    })
    fromLine = unclosedLine + 1
  }
  const first = rows.shift()
  const header = first?.cells.map((cell) => cell.trim()) ?? []
  return { header, headerLine: first?.line ?? 1, delimiter, rows, rejected }
}

interface Part {
  readonly taken: CsvRow[]
  readonly unclosedLine?: number
}

function readFrom(
  text: string,
  lineStarts: readonly number[],
  fromLine: number,
  delimiter: string,
  headerColumns: number | undefined,
): Part {
  const taken: CsvRow[] = []
  let unclosed = false
  // Blank lines come as rows of one empty cell, so that lines can be counted here; the parser's own count costs more
  // than all the rest.
  const records: string[][] = parse(text.slice(lineStarts[fromLine - 1]), {
    delimiter,
    relax_quotes: true,
    relax_column_count: true,
    skip_records_with_error: true,
    on_skip: (error) => {
      unclosed ||= error instanceof CsvError && error.code === 'CSV_QUOTE_NOT_CLOSED'
    },
  })
  let line = fromLine
  let columnCount = headerColumns
  for (const cells of records) {
    const breaks = cells.reduce((count, cell) => count + lineBreaks(cell), 0)
    if (breaks > 0 && swallowed(cells, breaks, columnCount)) return { taken, unclosedLine: line }
    if (cells.some((cell) => cell.trim() !== '')) {
      columnCount ??= cells.length
      taken.push({ line, cells })
    }
    line += 1 + breaks
  }
  return unclosed ? { taken, unclosedLine: line } : { taken }
}

/** Tells a row that an open quotation mark ran on through from one whose cells have line breaks of their own. */
function swallowed(
  record: readonly string[],
  breaks: number,
  columnCount = record.length,
): boolean {
  return (
    breaks >= linesOfRowMax ||
    record.length !== columnCount ||
    record.some((cell) => cell.startsWith('"'))
  )
}

/** The separator that the first line has most of. */
function guessDelimiter(text: string): string {
  const firstLine = text.trimStart().split('\n', 1)[0] ?? ''
  const bare = firstLine.replace(/"[^"]*"/g, '')
  const count = (one: string): number => bare.split(one).length - 1
  return [',', ';', '\t'].reduce((best, one) => (count(one) > count(best) ? one : best))
}

function startsOfLines(text: string): number[] {
  const starts = [0]
  for (const found of text.matchAll(/\n/g)) starts.push(found.index + 1)
  if (starts.at(-1) === text.length) starts.pop()
  return starts
}

const lineBreaks = (cell: string): number => (cell.includes('\n') ? cell.split('\n').length - 1 : 0)
