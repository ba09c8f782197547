import { existsSync, mkdirSync, renameSync, statSync } from 'node:fs'
import { dirname } from 'node:path'
import Sqlite from 'better-sqlite3'
import { Failure } from '../runtime/failure.js'
import { databaseFailure, databaseFaultKind } from './databaseFault.js'
import { applicationId, migrations } from './schema.js'

export type SqlValue = string | number | bigint | Uint8Array | null

/** The tables' way to the database. Every call is synchronous and throws the driver's error. */
export interface Database {
  readonly file: string
  all<Row>(sql: string, ...values: readonly SqlValue[]): Row[]
  get<Row>(sql: string, ...values: readonly SqlValue[]): Row | undefined
  run(sql: string, ...values: readonly SqlValue[]): { changes: number; lastId: number }
  /**
   * All or nothing. A durable transaction is on the disk when this returns (synchronous=FULL: the write-ahead log
   * is synced at each commit); another may be lost with the power, never with the process (synchronous=NORMAL).
   * Inside a transaction it only runs `work`.
   */
  transaction<Value>(durable: boolean, work: () => Value): Value
  /** Renames the file (and its log) and begins a new one; returns the name it has now. */
  setAside(): string
  close(): void
}

export interface DatabaseOptions {
  /** ':memory:' for one that lives with the process */
  readonly file: string
  /** told when a damaged file was set aside */
  readonly onFault: (failure: Failure) => void
  readonly wallMs: () => number
}

/**
 * Opens or makes the database and brings its schema up to date. A damaged one is set aside.
 * @throws Failure 'store-newer' for a file of a later version, 'store-...' when it cannot be opened at all
 */
export function openDatabase(options: DatabaseOptions): Database {
  const { file } = options
  let sqlite: Sqlite.Database
  // Preparing costs more than running; the texts are few and fixed.
  let statements = new Map<string, Sqlite.Statement<unknown[]>>()
  let inTransaction = false

  const open = (): void => {
    statements = new Map()
    sqlite = openFile(file)
  }

  const setAside = (): string => {
    try {
      sqlite?.close()
    } catch {
      // a damaged file may refuse even that
    }
    inTransaction = false
    const aside = setFileAside(file, 'damaged', options.wallMs())
    open()
    return aside
  }

  const statement = (sql: string): Sqlite.Statement<unknown[]> => {
    let prepared = statements.get(sql)
    if (prepared === undefined) {
      prepared = sqlite.prepare(sql)
      statements.set(sql, prepared)
    }
    return prepared
  }

  try {
    open()
  } catch (error) {
    if (databaseFaultKind(error) !== 'damaged' || file === ':memory:') {
      throw error instanceof Failure ? error : databaseFailure(file, 'opening it', error)
    }
    const failure = databaseFailure(file, 'opening it', error)
    const aside = setAside()
    options.onFault(damagedFailure(failure, aside))
  }

  return {
    file,
    all: <Row>(sql: string, ...values: readonly SqlValue[]) =>
      statement(sql).all(...values) as Row[],
    get: <Row>(sql: string, ...values: readonly SqlValue[]) =>
      statement(sql).get(...values) as Row | undefined,
    run: (sql, ...values) => {
      const result = statement(sql).run(...values)
      return { changes: result.changes, lastId: Number(result.lastInsertRowid) }
    },
    transaction(durable, work) {
      if (inTransaction) return work()
      sqlite.pragma(durable ? 'synchronous = FULL' : 'synchronous = NORMAL')
      sqlite.exec('BEGIN IMMEDIATE')
      inTransaction = true
      try {
        const value = work()
        sqlite.exec('COMMIT')
        return value
      } catch (error) {
        // some faults have rolled back already
        if (sqlite.inTransaction) sqlite.exec('ROLLBACK')
        throw error
      } finally {
        inTransaction = false
      }
    },
    setAside,
    close: () => sqlite.close(),
  }
}

export function damagedFailure(failure: Failure, aside: string): Failure {
  return new Failure({
    ...failure.detail,
    code: 'store-damaged',
    advice: `it was set aside as ${aside} and a new one begun; look at the disk, and restore a back-up`,
  })
}

/** Renames a database with its log; returns the new name. A name that is taken gets a number. */
export function setFileAside(file: string, why: string, wallMs: number): string {
  const stamp = new Date(wallMs).toISOString().replace(/[-:]|\.\d+/g, '')
  let aside = `${file}.${why}-${stamp}`
  for (let count = 2; existsSync(aside); count++) aside = `${file}.${why}-${stamp}-${count}`
  for (const suffix of ['', '-wal', '-shm']) {
    if (existsSync(file + suffix)) renameSync(file + suffix, aside + suffix)
  }
  return aside
}

/** Looked through in well under a second, also on an SD card. */
const checkedBytesMax = 32e6

function openFile(file: string): Sqlite.Database {
  const memory = file === ':memory:'
  if (!memory) mkdirSync(dirname(file), { recursive: true })
  const sqlite = new Sqlite(file)
  try {
    sqlite.pragma('busy_timeout = 2000')
    // before the first table, or it has no effect: lets retention hand pages back
    if (sqlite.pragma('user_version', { simple: true }) === 0) {
      sqlite.pragma('auto_vacuum = INCREMENTAL')
    }
    sqlite.pragma('journal_mode = WAL')
    // the log is cut back to this after a checkpoint
    sqlite.pragma('journal_size_limit = 4194304')
    // A large file would take too long at every start; damage in it shows when it is met, and is dealt with then.
    const large = !memory && statSync(file).size > checkedBytesMax
    const check = large ? 'ok' : sqlite.pragma('quick_check(1)', { simple: true })
    if (check !== 'ok') {
      throw Object.assign(new Error(String(check)), { code: 'SQLITE_CORRUPT' })
    }
    migrate(sqlite, file)
    return sqlite
  } catch (error) {
    sqlite.close()
    throw error
  }
}

function migrate(sqlite: Sqlite.Database, file: string): void {
  const version = sqlite.pragma('user_version', { simple: true }) as number
  if (version > migrations.length) {
    throw new Failure({
      code: 'store-newer',
      subject: file,
      got: `a database of version ${version}`,
      expected: `version ${migrations.length} or below`,
      advice: 'use the program that made it, or another file',
    })
  }
  sqlite.pragma('synchronous = FULL')
  for (const [index, sql] of migrations.entries()) {
    if (index < version) continue
    sqlite.transaction(() => {
      sqlite.exec(sql)
      sqlite.pragma(`application_id = ${applicationId}`)
      sqlite.pragma(`user_version = ${index + 1}`)
    })()
  }
}
