import { Failure } from '../runtime/failure.js'
import type { Database } from './database.js'
import { databaseFaultKind } from './databaseFault.js'
import type { SqlValue } from './sqliteDriver.js'

/*
 * SQLite keeps in any column whatever it was given, and a file may have come from a damaged card or an older program. So rows
 * are looked at when they are read: one that does not hold what it should is left out, counted, reported once, and stays where
 * it is, for the operator. A single one must never keep the others from being read.
 */

/** What a column holds. */
export interface ColumnKind<Value> {
  /** what is expected, in words, where a value is not that; undefined where it is */
  readonly fault: (value: unknown) => string | undefined
  /** of a value without fault */
  readonly read: (value: unknown) => Value
}

/** Says once where each field of a value stands, and what may stand there. */
export interface Table<Value> {
  readonly name: string
  readonly columns: {
    readonly [Field in keyof Value]-?: readonly [column: string, kind: ColumnKind<Value[Field]>]
  }
}

/** Reads rows of the tables whose rows are named by `id`. */
export interface RowReader {
  /**
   * The rows that hold what they should, as values.
   * @param condition what follows WHERE, with ORDER BY and LIMIT where they are wanted
   */
  list<Value>(table: Table<Value>, condition: string, ...values: SqlValue[]): Value[]
  /** The first of them; undefined when there is none, or it is left out. */
  first<Value>(table: Table<Value>, condition: string, ...values: SqlValue[]): Value | undefined
  /** Notes a row that is left out. */
  leaveOut(table: string, key: string | number, got: string, expected: string): void
  /** rows left out so far */
  readonly badRowCount: number
}

type Row = Readonly<Record<string, unknown>>

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

  const soundValue = <Value>({ name, columns }: Table<Value>, row: Row): Value[] => {
    const value: Partial<Value> = {}
    for (const field of Object.keys(columns) as (keyof Value & string)[]) {
      const [column, kind] = columns[field]
      const expected = kind.fault(row[column])
      if (expected !== undefined) {
        leaveOut(name, row.id as number, `${column}: ${shown(row[column])}`, expected)
        return []
      }
      value[field] = kind.read(row[column])
    }
    return [value as Value]
  }

  /** Row by row, where reading them all at once fails: a number may be too large for the driver. */
  const oneByOne = <Value>(
    table: Table<Value>,
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

const kindOf = <Value>(fault: (value: unknown) => string | undefined): ColumnKind<Value> => ({
  ...{ fault, read: (value) => value as Value },
})

export const whole = kindOf<number>((value) =>
  Number.isSafeInteger(value) ? undefined : 'a whole number',
)

/** 0 or 1: SQLite has no other. */
export const flag: ColumnKind<boolean> = {
  ...{ fault: whole.fault, read: (value) => value === 1 },
}

/** The years 1970 to 9999: what a date can show. */
export const wallTime = kindOf<number>((value) =>
  typeof value === 'number' && value >= 0 && value < 253_402_300_800_000
    ? undefined
    : 'a time in milliseconds since 1970',
)

export const textOf = (charactersMax: number): ColumnKind<string> =>
  kindOf((value) =>
    typeof value === 'string' && value.length <= charactersMax
      ? undefined
      : `a text of at most ${charactersMax} characters`,
  )

/** A station as its frames name it: whatever else stands there can be spoken to by nobody. */
export const callText = kindOf<string>((value) =>
  typeof value === 'string' && /^[A-Z0-9]{1,6}(-([1-9]|1[0-5]))?$/.test(value)
    ? undefined
    : 'a call sign',
)

/** A call sign, or a tactical name: at most nine characters. */
export const addresseeText = kindOf<string>((value) =>
  typeof value === 'string' && /^([A-Z0-9]{1,6}(-([1-9]|1[0-5]))?|[A-Z0-9]{2,9})$/.test(value)
    ? undefined
    : 'a call sign or a tactical name',
)

/** No frame, message or reason is longer. */
export const freeText = textOf(10_000)

export const oneOf = <Name extends string>(names: readonly Name[]): ColumnKind<Name> =>
  kindOf((value) => (names.includes(value as Name) ? undefined : `one of ${names.join(', ')}`))

/** The same, or NULL. */
export const orNull = <Value>({
  fault,
  read,
}: ColumnKind<Value>): ColumnKind<Value | undefined> => ({
  fault: (value) => (value === null ? undefined : fault(value)),
  read: (value) => (value === null ? undefined : read(value)),
})

function shown(value: unknown): string {
  if (value === null) return 'nothing'
  if (typeof value === 'string') return JSON.stringify(value.slice(0, 40))
  if (typeof value === 'object') return 'octets'
  return String(value)
}
