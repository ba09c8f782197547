import { bandOf } from '../../regulations/amateurBands.js'
import type { CsvRow } from '../data/csvTable.js'
import { parseAngle } from '../data/figures.js'
import { quoted } from '../data/rejected.js'
import { type FrequencyUnit, parseFrequency } from './frequency.js'
import { fieldWords, type RepeaterField } from './headers.js'
import { viewpointOf } from './listKnowledge.js'

/** A column whose field another column has. */
export interface DoubledColumn {
  readonly field: RepeaterField
  readonly at: number
  /** as sure of the field as the one that has it, and no map says otherwise */
  readonly isEqual: boolean
}

type Columns = Partial<Record<RepeaterField, number>>

interface Table {
  readonly header: readonly string[]
  readonly rows: readonly CsvRow[]
  readonly units: (at: number) => FrequencyUnit | undefined
}

/** What a person is told of doubled columns; `unclear` when the table cannot be used for them. */
export interface DoublesTold {
  readonly remarks: readonly HeaderRemark[]
  /** two columns of frequencies, and which is the output cannot be told */
  readonly unclear?: string
}

/** What was made of some columns as a whole. */
export interface HeaderRemark {
  readonly field: RepeaterField
  readonly got: string
  readonly taken: string
}

/** A wrong column costs an offset, a tone or a place; of two names or modes the first will do. */
const told: ReadonlySet<RepeaterField> = new Set([
  'output',
  'input',
  'transmit',
  'receive',
  'sign',
  'offset',
  'tone',
  'toneTransmit',
  'toneReceive',
  'code',
  'latitude',
  'longitude',
])

/** A frequency that was given to the kilohertz may be this far off. */
const sameMHz = 0.006
/** Positions are rounded. */
const sameDeg = 0.01
/** So many of the pairs that differ have to look like output and input. */
const pairsShare = 0.75
const rowsLookedAt = 5000

/**
 * Looks at columns that stand for the same. Two of frequencies are output and input where their differences look like it;
 * any other that says something else than the one in use is named.
 * @param columns changed where output and input are found
 */
export function settleDoubles(
  doubles: readonly DoubledColumn[],
  columns: Columns,
  table: Table,
): DoublesTold {
  const remarks: HeaderRemark[] = []
  for (const double of doubles) {
    const { field, at } = double
    const used = columns[field]
    if (used === undefined || !told.has(field) || !differ(field, used, at, table)) continue
    if (field === 'output' && double.isEqual && isFree(columns)) {
      const pair = pairOf(used, at, columns, table)
      if (pair === undefined) return { remarks, unclear: namesOf([used, at], table.header) }
      columns.output = pair.output
      columns.input = pair.input
      remarks.push({
        field,
        got: `the columns ${namesOf([used, at], table.header)}`,
        taken: `column ${pair.output + 1} is taken as the output, column ${pair.input + 1} as the input`,
      })
    } else
      remarks.push({
        field,
        got: `the columns ${namesOf([used, at], table.header)}`,
        taken: `both look like "${fieldWords[field]}", and they differ: column ${at + 1} is not used`,
      })
  }
  return { remarks }
}

const isFree = (columns: Columns): boolean =>
  columns.input === undefined && columns.transmit === undefined && columns.receive === undefined

const namesOf = (columns: readonly number[], header: readonly string[]): string =>
  columns.map((at) => `${quoted(header[at] ?? '')} (column ${at + 1})`).join(' and ')

const cellOf = (row: CsvRow, at: number): string => (row.cells[at] ?? '').trim().slice(0, 60)

/** Whether some row has two values that are not the same. */
function differ(field: RepeaterField, used: number, at: number, table: Table): boolean {
  return table.rows.slice(0, rowsLookedAt).some((row) => {
    const [one, other] = [cellOf(row, used), cellOf(row, at)]
    if (one === '' || other === '' || one === other) return false
    if (field === 'latitude' || field === 'longitude') {
      const letters = field === 'latitude' ? 'NS' : 'EW'
      const [a, b] = [parseAngle(one, letters), parseAngle(other, letters)]
      return a === undefined || b === undefined || Math.abs(a - b) > sameDeg
    }
    const [a, b] = [megahertz(one, used, table), megahertz(other, at, table)]
    if (a !== undefined && b !== undefined) return Math.abs(a - b) > sameMHz
    return one.toLowerCase() !== other.toLowerCase()
  })
}

const megahertz = (text: string, at: number, { units }: Table): number | undefined =>
  parseFrequency(text, units(at))

/** Which of two columns of frequencies is the output; undefined when that cannot be told. */
function pairOf(
  first: number,
  second: number,
  columns: Columns,
  table: Table,
): { output: number; input: number } | undefined {
  let pairs = 0
  let differing = 0
  for (const row of table.rows.slice(0, rowsLookedAt)) {
    const [one, other] = [cellOf(row, first), cellOf(row, second)]
    if (one === '' || other === '') continue
    const [a, b] = [megahertz(one, first, table), megahertz(other, second, table)]
    if (a !== undefined && b !== undefined && Math.abs(a - b) <= sameMHz) continue
    differing++
    if (a === undefined || b === undefined) continue
    if (bandOf(a) !== undefined && bandOf(a) === bandOf(b)) pairs++
  }
  if (pairs < differing * pairsShare) return undefined
  const { output: _, ...others } = columns
  const asSides = { ...others, transmit: first, receive: second }
  const cells = (field: RepeaterField): string[] => {
    const at = (asSides as Columns)[field]
    return at === undefined
      ? []
      : table.rows.slice(0, rowsLookedAt).map((row) => (row.cells[at] ?? '').trim())
  }
  const units: Partial<Record<RepeaterField, FrequencyUnit>> = {}
  for (const [field, at] of Object.entries(asSides)) {
    const unit = table.units(at)
    if (unit !== undefined) units[field as RepeaterField] = unit
  }
  switch (viewpointOf(cells, asSides, units)) {
    case 'repeater':
      return { output: first, input: second }
    case 'user':
      return { output: second, input: first }
    case 'unknown':
      return undefined
  }
}
