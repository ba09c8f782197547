import { Failure } from '../runtime/failure.js'
import type { Database } from './database.js'
import { databaseFaultKind } from './databaseFault.js'
import type { SqlValue } from './sqliteDriver.js'

/*
 * SQLite keeps in any column whatever it was given, and a file may have come from a damaged card or an older program. So rows
 * are looked at when they are read: one that does not hold what it should is left out, counted, reported once, and stays where
 * it is, for the operator. A single one must never keep the others from being read.
 */

/** What is expected of a column, in words, where a value is not that; undefined where it is. */
type ColumnCheck = (value: unknown) => string | undefined

/** A check for each column that is used. */
export type RowForm<Row> = { readonly [Column in keyof Row]: ColumnCheck }

/** Reads rows of the tables whose rows are named by `id`. */
export interface RowReader {
  /**
   * The rows that hold what they should, as values.
   * @param condition what follows WHERE, with ORDER BY and LIMIT where they are wanted
   */
  list<Row, Value>(table: Table<Row, Value>, condition: string, ...values: SqlValue[]): Value[]
  /** The first of them; undefined when there is none, or it is left out. */
  first<Row, Value>(
    table: Table<Row, Value>,
    condition: string,
    ...values: SqlValue[]
  ): Value | undefined
  /** Notes a row that is left out. */
  leaveOut(table: string, key: string | number, got: string, expected: string): void
  /** rows left out so far */
  readonly badRowCount: number
}

export interface Table<Row, Value> {
  readonly name: string
  readonly form: RowForm<Row>
  readonly read: (row: Row) => Value
}

export function rowReader(database: Database, onFault: (failure: Failure) => void): RowReader {
  const reported = new Set<string>()

  const leaveOut = (table: string, key: string | number, got: string, expected: string): void => {
    const row = `${table}, row ${key}`
    if (reported.has(row)) return
    reported.add(row)
    onFault(
      new Failure({
        code: 'store-bad-row',
        subject: `${database.file}: ${row}`,
        got,
        expected,
        advice: 'it is left out and stays there; mend or delete it while the node is stopped',
      }),
    )
  }

  const soundValue = <Row, Value>({ name, form, read }: Table<Row, Value>, row: Row): Value[] => {
    const { id } = row as { id: number }
    for (const column of Object.keys(form) as (keyof Row & string)[]) {
      const expected = form[column](row[column])
      if (expected === undefined) continue
      leaveOut(name, id, `${column}: ${shown(row[column])}`, expected)
      return []
    }
    return [read(row)]
  }

  /** Row by row, where reading them all at once fails: a number may be too large for the driver. */
  const oneByOne = <Row, Value>(
    table: Table<Row, Value>,
    condition: string,
    values: readonly SqlValue[],
  ): Value[] =>
    database
      .all<{ id: number }>(`SELECT id FROM ${table.name} WHERE ${condition}`, ...values)
      .flatMap(({ id }) => {
        try {
          const row = database.get<Row>(`SELECT * FROM ${table.name} WHERE id = ?`, id)
          return row === undefined ? [] : soundValue(table, row)
        } catch (error) {
          if (!isOfOneRow(error)) throw error
          leaveOut(table.name, id, 'a value that cannot be read', 'numbers and texts')
          return []
        }
      })

  const list: RowReader['list'] = (table, condition, ...values) => {
    type Row = Parameters<typeof table.read>[0]
    try {
      return database
        .all<Row>(`SELECT * FROM ${table.name} WHERE ${condition}`, ...values)
        .flatMap((row) => soundValue(table, row))
    } catch (error) {
      if (!isOfOneRow(error)) throw error
      return oneByOne(table, condition, values)
    }
  }

  return {
    list,
    first: (table, condition, ...values) => list(table, condition, ...values)[0],
    leaveOut,
    get badRowCount() {
      return reported.size
    },
  }
}

/** Thrown for a value, not for the file. */
const isOfOneRow = (error: unknown): boolean => databaseFaultKind(error) === 'other'

export const whole: ColumnCheck = (value) =>
  Number.isSafeInteger(value) ? undefined : 'a whole number'

/** The years 1970 to 9999: what a date can show. */
export const wallTime: ColumnCheck = (value) =>
  typeof value === 'number' && value >= 0 && value < 253_402_300_800_000
    ? undefined
    : 'a time in milliseconds since 1970'

export const textOf =
  (charactersMax: number): ColumnCheck =>
  (value) =>
    typeof value === 'string' && value.length <= charactersMax
      ? undefined
      : `a text of at most ${charactersMax} characters`

/** What a call sign, an alias or an addressee takes. */
export const callText: ColumnCheck = (value) =>
  typeof value === 'string' && /^[!-~]{1,9}$/.test(value) ? undefined : 'a call sign'

/** No frame, message or reason is longer. */
export const freeText = textOf(10_000)

export const oneOf =
  (names: readonly string[]): ColumnCheck =>
  (value) =>
    names.includes(value as string) ? undefined : `one of ${names.join(', ')}`

/** The same, or NULL. */
export const orNull =
  (check: ColumnCheck): ColumnCheck =>
  (value) =>
    value === null ? undefined : check(value)

function shown(value: unknown): string {
  if (value === null) return 'nothing'
  if (typeof value === 'string') return JSON.stringify(value.slice(0, 40))
  if (typeof value === 'object') return 'octets'
  return String(value)
}
