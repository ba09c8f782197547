import { bandOf } from '../../regulations/amateurBands.js'
import type { CsvRow } from '../data/csvTable.js'
import { quoted } from '../data/rejected.js'
import { parseTone } from './accessTone.js'
import type { HeaderRemark } from './doubledColumns.js'
import { parseFrequency, parseShift } from './frequency.js'
import type { RepeaterField } from './headers.js'

type Columns = Readonly<Partial<Record<RepeaterField, number>>>

const rowsLookedAt = 300
const share = 0.6
/** Signed figures beyond it are rather degrees or decibels. */
const shiftMHzMax = 30

/** Only the usual ones: '145.0' is rather a frequency. */
const isTone = (text: string): boolean => {
  if (!/^(\d{2,3}[.,]\d|D\d{3}[NIR]{0,2})$/i.test(text)) return false
  const said = parseTone(text)
  return said.kind === 'access' && said.doubt === undefined
}

const isShift = (text: string): boolean => {
  if (!/^[-+−–]\s*\d/.test(text)) return false
  const said = parseShift(text, undefined, 0)
  return said?.shiftMHz !== undefined && said.shiftMHz <= shiftMHzMax
}

/** What nothing in the list is taken for, and a column without a known header looks like. */
export function overlookedColumns(
  header: readonly string[],
  rows: readonly CsvRow[],
  columns: Columns,
  isUsed: (at: number) => boolean,
): HeaderRemark[] {
  const has = (...fields: RepeaterField[]): boolean =>
    fields.some((field) => columns[field] !== undefined)
  const hasTone = has('tone', 'toneTransmit', 'toneReceive', 'toneSent', 'code', 'burst')
  const hasShift = has('offset', 'input', 'transmit', 'receive')
  if (hasTone && hasShift) return []
  const looked = rows.slice(0, rowsLookedAt)
  const outputs = looked.map((row) =>
    parseFrequency(row.cells[columns.output ?? -1] ?? '', undefined),
  )
  return header.flatMap((text, at) => {
    if (isUsed(at)) return []
    const cells = looked.map((row) => (row.cells[at] ?? '').trim().slice(0, 60))
    const filled = cells.filter((cell) => cell !== '').length
    const most = (test: (cell: string, index: number) => boolean): boolean =>
      filled > 0 &&
      cells.filter((cell, index) => cell !== '' && test(cell, index)).length >= filled * share
    const isInput = (cell: string, index: number): boolean => {
      const [input, output] = [parseFrequency(cell, undefined), outputs[index]]
      if (input === undefined || output === undefined || !/[.,]\d/.test(cell)) return false
      return bandOf(input) !== undefined && bandOf(input) === bandOf(output)
    }
    const remark = (field: RepeaterField, what: string): HeaderRemark[] => [
      {
        field,
        got: `the column ${quoted(text)} (column ${at + 1})`,
        taken: `looks like ${what}, but its header is not known: not used; name it, as in --map ${field}=${at + 1}`,
      },
    ]
    if (!hasTone && most(isTone)) return remark('tone', 'tones')
    if (!hasShift && most(isInput)) return remark('input', 'inputs')
    if (!hasShift && most(isShift)) return remark('offset', 'offsets')
    return []
  })
}
