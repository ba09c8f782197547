import { foldHeader, type GivenColumns, unitOfHeader } from '../data/columns.js'
import type { CsvRow } from '../data/csvTable.js'
import { parseTone } from './accessTone.js'
import { isAvailabilityWord } from './availability.js'
import { type DoubledColumn, type DoublesTold, settleDoubles } from './doubledColumns.js'
import { type FrequencyUnit, parseShift } from './frequency.js'
import {
  type ColumnLook,
  type HeaderMeaning,
  meaningOfHeader,
  type RepeaterField,
  repeaterFields,
} from './headers.js'
import type { FlaggedMode } from './modes.js'
import { overlookedColumns } from './overlooked.js'

export type RepeaterColumns = GivenColumns<RepeaterField>

export interface TableColumns {
  readonly columns: Readonly<Partial<Record<RepeaterField, number>>>
  /** columns filled with yes and no, one for a mode */
  readonly flags: readonly { readonly at: number; readonly mode: FlaggedMode }[]
  readonly units: Readonly<Partial<Record<RepeaterField, FrequencyUnit>>>
  /** of columns that stand for the same, and of those that are overlooked */
  readonly doubles: DoublesTold
}

export type TableColumnsResult =
  | ({ readonly ok: true } & TableColumns)
  /** named by the map, but not in the file */
  | { readonly ok: false; readonly unknownHeaders: readonly string[] }

/** Finds what each column stands for, a given map first, else by its header and by what stands in it. */
export function findRepeaterColumns(
  header: readonly string[],
  rows: readonly CsvRow[],
  given: RepeaterColumns,
): TableColumnsResult {
  const columns: Partial<Record<RepeaterField, number>> = {}
  const folded = header.map(foldHeader)
  const unknownHeaders: string[] = []
  for (const field of repeaterFields) {
    const wanted = given[field]
    if (wanted === undefined) continue
    const at = typeof wanted === 'number' ? wanted - 1 : headerAt(header, folded, wanted)
    if (at >= 0 && at < header.length) columns[field] = at
    else unknownHeaders.push(String(wanted))
  }
  if (unknownHeaders.length > 0) return { ok: false, unknownHeaders }
  const taken = new Set(Object.values(columns))
  const found: (Extract<HeaderMeaning, { field: RepeaterField }> & { at: number })[] = []
  const flags: { at: number; mode: FlaggedMode }[] = []
  for (const [at, text] of header.entries()) {
    if (taken.has(at)) continue
    const meaning = meaningOfHeader(text, lookOf(rows, at))
    if (meaning === undefined) continue
    if ('flag' in meaning) flags.push({ at, mode: meaning.flag })
    else found.push({ ...meaning, at })
  }
  // The surest first; of equals the one that stands first, since sorting keeps their order.
  found.sort((a, b) => b.sureness - a.sureness)
  const surenessOf = new Map(found.map(({ at, sureness }) => [at, sureness]))
  const doubled: DoubledColumn[] = []
  for (const { at, field, otherwise, sureness } of found) {
    const used = columns[field]
    if (used === undefined) columns[field] = at
    else if (otherwise !== undefined) columns[otherwise] ??= at
    else doubled.push({ field, at, isEqual: surenessOf.get(used) === sureness })
  }
  const doubles = settleDoubles(doubled, columns, {
    header,
    rows,
    units: (at) => unitOfHeader(header[at]!),
  })
  const units: Partial<Record<RepeaterField, FrequencyUnit>> = {}
  for (const [field, at] of Object.entries(columns)) {
    const unit = unitOfHeader(header[at]!)
    if (unit !== undefined) units[field as RepeaterField] = unit
  }
  const used = new Set([...Object.values(columns), ...flags.map(({ at }) => at)])
  // One that a remark names already is not named again.
  for (const { at } of doubled) used.add(at)
  const overlooked = overlookedColumns(header, rows, columns, (at) => used.has(at))
  const told = { ...doubles, remarks: [...doubles.remarks, ...overlooked] }
  return { ok: true, columns, flags, units, doubles: told }
}

/** As written first: headers such as '+' and '-' fold to nothing. */
function headerAt(header: readonly string[], folded: readonly string[], wanted: string): number {
  const exact = header.indexOf(wanted)
  return exact >= 0 ? exact : folded.indexOf(foldHeader(wanted))
}

const callSign = /^[a-z0-9]{1,2}\d[a-z]{1,4}([-/ ][a-z0-9]{1,4})?$/i
const rowsLookedAt = 300
const toneKinds =
  /^(tone|tsql|tsq|tone ?sql|dtcs|dcs|dpl|ctcss|pl|none|off|cross|csq|burst|encode|t\/?r|enc(\/dec)?|tone squelch|carrier)$/i

function lookOf(rows: readonly CsvRow[], at: number): ColumnLook {
  const filled: string[] = []
  for (const row of rows.slice(0, rowsLookedAt)) {
    const text = (row.cells[at] ?? '').trim().slice(0, 60)
    if (text !== '') filled.push(text)
  }
  const numeric = filled.filter((text) => /^[-+−–±]{0,3}\s*[.,]?\d/.test(text)).length
  const most = (test: (text: string) => boolean): boolean =>
    filled.filter(test).length * 2 > filled.length
  const all = (test: (text: string) => boolean): boolean => filled.length > 0 && filled.every(test)
  return {
    isEmpty: filled.length === 0,
    isNumeric: filled.length === 0 || numeric * 2 > filled.length,
    isSigns: all((text) => {
      const said = parseShift(text, undefined, 0)
      return said !== undefined && said.shiftMHz === undefined && said.inputMHz === undefined
    }),
    isToneKinds:
      all((text) => toneKinds.test(text)) && filled.some((text) => !/^(none|off)$/i.test(text)),
    isTones: most((text) => parseTone(text).kind !== 'unclear'),
    isCalls: filled.length > 0 && most((text) => callSign.test(text)),
    isAvailability: most(isAvailabilityWord),
  }
}
