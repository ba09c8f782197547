import { basename } from 'node:path'
import { replaceFile } from '../../devices/replaceFile.js'
import { Failure } from '../../runtime/failure.js'
import { readCsvTable } from '../../services/data/csvTable.js'
import { readDataFile } from '../../services/data/readDataFile.js'
import { loadRepeaters } from '../../services/repeaters/directory.js'
import { repeaterWords } from '../../services/repeaters/entry.js'
import { formatRepeaters } from '../../services/repeaters/formatRepeaters.js'
import { type RepeaterField, repeaterFields } from '../../services/repeaters/headers.js'
import { parseRepeaters, type RepeaterColumns } from '../../services/repeaters/parseRepeaters.js'
import { type LoadInput, type Prepared, targetOf } from './loadInput.js'
import { columnLines, countLines, countWords } from './loadReport.js'

/** Reads a directory in whatever columns it has; it is written in our own, so that the node needs no map. */
export async function prepareRepeaters(input: LoadInput): Promise<Prepared> {
  const { source, map } = input
  const { file, columns } = input.config.services.repeaters
  const target = targetOf(input, 'services.repeaters.file', file)
  const headers = headersOf(columns)
  const text = await readDataFile(source, 'a CSV file of repeaters')
  // The configuration's map is for the file in place; a new one may come in other columns.
  const inPlace = parseRepeaters(text, { ...columns, ...map })
  const parsed = inPlace.ok ? inPlace : parseRepeaters(text, map)
  if (!parsed.ok)
    throw new Failure({
      code: 'repeaters-unusable',
      subject: basename(source),
      got: parsed.got,
      expected: parsed.expected,
      advice: `name columns with --map FIELD=HEADER; fields: ${Object.keys(repeaterFields).join(', ')}`,
    })
  const firstRow = readCsvTable(text).rows[0]?.cells ?? []
  const example = parsed.entries[0]
  return {
    lines: [
      `Columns of ${basename(source)}:`,
      ...columnLines(parsed.header, parsed.columns, Object.keys(repeaterFields), firstRow),
      ...countLines('repeater', basename(source), parsed),
      ...(example === undefined ? [] : [`First: ${repeaterWords(example, 67)}`]),
    ],
    rightCount: parsed.entries.length,
    rejectedCount: parsed.rejectedCount,
    target,
    now: await inPlaceWords(target, columns),
    replace: async () => replaceFile(target, formatRepeaters(parsed.entries, headers)),
  }
}

async function inPlaceWords(target: string, columns: RepeaterColumns): Promise<string> {
  try {
    return `now ${countWords((await loadRepeaters(target, columns)).entries.length, 'repeater')}`
  } catch (error) {
    const isMissing = error instanceof Failure && error.detail.got === 'no such file'
    return isMissing ? 'there is none yet' : 'which cannot be read now'
  }
}

/** Headers that the node's configuration expects. */
function headersOf(columns: RepeaterColumns): Partial<Record<RepeaterField, string>> {
  const headers: Partial<Record<RepeaterField, string>> = {}
  for (const [field, column] of Object.entries(columns)) {
    if (typeof column === 'string') headers[field as RepeaterField] = column
    else if (typeof column === 'number')
      throw new Failure({
        code: 'load-column-number',
        subject: `configuration: services.repeaters.columns.${field}`,
        got: `the number ${column}`,
        expected: 'a header text, or nothing',
        advice:
          'the loaded file has a header of its own: remove the table services.repeaters.columns',
      })
  }
  return headers
}
