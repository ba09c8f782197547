import { resolve } from 'node:path'
import { type SqliteStatement, type SqlValue, sqliteModule } from './sqliteModule.js'

export type { SqlValue } from './sqliteModule.js'

/** One open database file. Every call is synchronous and throws SQLite's error, with its `errcode`. */
export interface Sqlite {
  exec(sql: string): void
  all<Row>(sql: string, ...values: readonly SqlValue[]): Row[]
  get<Row>(sql: string, ...values: readonly SqlValue[]): Row | undefined
  run(sql: string, ...values: readonly SqlValue[]): { changes: number; lastId: number }
  /** Row by row. Nothing may be written meanwhile, and the same statement must not be run. */
  iterate<Row>(sql: string, ...values: readonly SqlValue[]): Iterable<Row>
  /** Asks for a setting; undefined for one without a value. */
  pragma<Value extends SqlValue>(name: string): Value | undefined
  close(): void
}

export interface SqliteOptions {
  /** a file that is not there is then not made */
  readonly readOnly?: boolean
  /** how long a statement waits for another process; default 0 */
  readonly busyTimeoutMs?: number
}

export type OpenSqlite = (file: string, options?: SqliteOptions) => Sqlite

/**
 * @param file made when it does not exist; ':memory:' for a database that lives with the process
 * @throws Failure 'sqlite-missing'; SQLite's error when it cannot be opened
 */
export function openSqlite(file: string, options: SqliteOptions = {}): Sqlite {
  const { DatabaseSync } = sqliteModule()
  // Resolved, so that no name is taken for a URI.
  const place = file === ':memory:' ? file : resolve(file)
  const connection = new DatabaseSync(place, { readOnly: options.readOnly ?? false })
  // Preparing costs more than running; the texts are few and fixed. They are held here, too, because Node 22.13 lets
  // the collector take a statement while its rows are being read.
  const statements = new Map<string, SqliteStatement>()
  const statement = (sql: string): SqliteStatement => {
    let prepared = statements.get(sql)
    if (prepared === undefined) {
      prepared = connection.prepare(sql)
      statements.set(sql, prepared)
    }
    return prepared
  }
  let open = true
  const sqlite: Sqlite = {
    exec: (sql) => connection.exec(sql),
    all: <Row>(sql: string, ...values: readonly SqlValue[]) =>
      statement(sql).all(...values.map(bound)) as Row[],
    get: <Row>(sql: string, ...values: readonly SqlValue[]) =>
      statement(sql).get(...values.map(bound)) as Row | undefined,
    run(sql, ...values) {
      const { changes, lastInsertRowid } = statement(sql).run(...values.map(bound))
      return { changes: Number(changes), lastId: Number(lastInsertRowid) }
    },
    iterate: <Row>(sql: string, ...values: readonly SqlValue[]) =>
      statement(sql).iterate(...values.map(bound)) as Iterable<Row>,
    pragma<Value extends SqlValue>(name: string) {
      const row = sqlite.get<Record<string, Value>>(`PRAGMA ${name}`)
      return row && Object.values(row)[0]
    },
    close() {
      // The packaged module lets go of the file when the collector has taken its last statement, or the process ends.
      statements.clear()
      if (open) connection.close()
      open = false
    },
  }
  connection.exec(`PRAGMA busy_timeout = ${options.busyTimeoutMs ?? 0}`)
  return sqlite
}

/**
 * Some versions of the module read a text only up to its first NUL. Nobody types one, but anybody can send one: its
 * visible picture is kept instead, so that nothing behind it is lost.
 */
const bound = (value: SqlValue): SqlValue =>
  typeof value === 'string' && value.includes('\0') ? value.replaceAll('\0', '\u2400') : value
