import { existsSync, mkdirSync, renameSync, statSync } from 'node:fs'
import { dirname } from 'node:path'
import { Failure } from '../runtime/failure.js'
import { damageError, databaseFailure, databaseFaultKind } from './databaseFault.js'
import { openTransaction } from './openTransaction.js'
import { carryOver, fileIdentity, replacedFailure } from './replacedFile.js'
import { applicationId, migrations } from './schema.js'
import { type OpenSqlite, openSqlite, type Sqlite, type SqlValue } from './sqliteDriver.js'
import { limitLog, writeAheadLog } from './writeAheadLog.js'

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
  /**
   * Runs `work` in a durable transaction that stays open for the next call: a card gets a page once that many steps change. It
   * ends by `commitOpen`, or when another transaction begins.
   * @param onEnd told whether it was kept, or undone
   */
  openTransaction<Value>(work: () => Value, onEnd: (kept: boolean) => void): Value
  commitOpen(): void
  /** What is open has more pages than the write-ahead log should hold: commit it, and go on in another. */
  isOpenLarge(): boolean
  /**
   * Takes the log's pages into the database file, as far as nobody reads older ones; the next commit begins the log anew.
   * While a transaction is open nothing is done: its commit tells anew. @returns false where somebody's reading left some there
   */
  emptyLog(): boolean
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
  /** told after a commit that left more in the write-ahead log than it should hold: `emptyLog` is due */
  readonly onLogFull?: (() => void) | undefined
  /** SQLite on the machine's own files unless given */
  readonly openFile?: OpenSqlite | undefined
}

/**
 * Opens or makes the database and brings its schema up to date. A damaged one is set aside.
 * @throws Failure 'store-newer' for a file of a later version, 'store-...' when it cannot be opened at all
 */
export function openDatabase(options: DatabaseOptions): Database {
  const { file } = options
  const openAny = options.openFile ?? openSqlite
  let sqlite: Sqlite
  let identity: string | undefined

  const open = (): void => {
    sqlite = openFile(file, openAny)
    identity = fileIdentity(file)
  }

  /** A file that was deleted or replaced keeps nothing, although every commit to it succeeds. */
  const openAnewWhenReplaced = (): void => {
    if (file === ':memory:' || fileIdentity(file) === identity) return
    const former = sqlite
    const present = openFile(file, openAny)
    let count: number
    try {
      count = carryOver(former, present)
    } catch (error) {
      present.close()
      throw error
    }
    sqlite = present
    identity = fileIdentity(file)
    former.close()
    options.onFault(replacedFailure(file, count))
  }

  const over = databaseOver(file, () => sqlite, {
    before: openAnewWhenReplaced,
    isReplaced: () => file !== ':memory:' && fileIdentity(file) !== identity,
    onLogFull: options.onLogFull ?? (() => {}),
  })

  const setAside = (): string => {
    over.abandonOpen()
    try {
      sqlite?.close()
    } catch {
      // a damaged file may refuse even that
    }
    const aside = setFileAside(file, 'damaged', options.wallMs())
    open()
    return aside
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

  return { ...over, setAside }
}

interface DatabaseWatch {
  readonly before: () => void
  readonly isReplaced: () => boolean
  readonly onLogFull: () => void
}

/**
 * The tables' way over an open file; it cannot be set aside.
 * @param watch `before` is called before each transaction; what was put into a file that was replaced meanwhile is not kept
 */
export function databaseOver(
  file: string,
  sqlite: () => Sqlite,
  watch: DatabaseWatch = { before: () => {}, isReplaced: () => false, onLogFull: () => {} },
): Database & { abandonOpen(): void } {
  let inTransaction = false
  let setFor: Sqlite | undefined
  let setDurable = false
  const setSynchronous = (opened: Sqlite, durable: boolean): void => {
    if (opened === setFor && durable === setDurable) return
    opened.exec(`PRAGMA synchronous = ${durable ? 'FULL' : 'NORMAL'}`)
    setFor = opened
    setDurable = durable
  }
  const begin = (durable: boolean): Sqlite => {
    watch.before()
    const opened = sqlite()
    setSynchronous(opened, durable)
    opened.exec('BEGIN IMMEDIATE')
    return opened
  }

  const log = writeAheadLog(file)
  const commit = (opened: Sqlite): void => {
    opened.exec('COMMIT')
    if (log.committed()) watch.onLogFull()
  }
  const open = openTransaction({
    begin() {
      begin(true)
      log.begun()
    },
    commit: () => commit(sqlite()),
    rollBack: () => rollBack(sqlite()),
    isReplaced: watch.isReplaced,
  })

  /** What is open belongs to somebody else: a fault of it is told to that one, and undoes only that. */
  const makeWay = (): void => {
    try {
      open.commit()
    } catch {
      // it was undone, and is tried again
    }
  }

  return {
    file,
    all: <Row>(sql: string, ...values: readonly SqlValue[]) => sqlite().all<Row>(sql, ...values),
    get: <Row>(sql: string, ...values: readonly SqlValue[]) => sqlite().get<Row>(sql, ...values),
    run: (sql, ...values) => sqlite().run(sql, ...values),
    transaction(durable, work) {
      if (inTransaction) return work()
      makeWay()
      const opened = begin(durable)
      inTransaction = true
      try {
        const value = work()
        commit(opened)
        return value
      } catch (error) {
        rollBack(opened)
        throw error
      } finally {
        inTransaction = false
      }
    },
    openTransaction(work, onEnd) {
      const within = (): ReturnType<typeof work> => {
        inTransaction = true
        try {
          return work()
        } finally {
          inTransaction = false
        }
      }
      return open.run(within, onEnd)
    },
    commitOpen: open.commit,
    isOpenLarge: () => open.isOpen && log.isOverfull(),
    emptyLog: () => inTransaction || open.isOpen || log.empty(sqlite()),
    abandonOpen: open.abandon,
    setAside() {
      throw new RangeError(`${file}: not to be set aside`)
    },
    close: () => sqlite().close(),
  }
}

export function damagedFailure(failure: Failure, aside: string): Failure {
  return new Failure({
    ...failure.detail,
    code: 'store-damaged',
    advice: `it was set aside as ${aside} and a new one begun; look at the disk, and restore a back-up`,
  })
}

/**
 * Renames a database with its log; returns the new name. A name that is taken gets a number.
 * @param besides ends of other files that go along
 */
export function setFileAside(
  file: string,
  why: string,
  wallMs: number,
  besides: readonly string[] = [],
): string {
  const stamp = new Date(wallMs).toISOString().replace(/[-:]|\.\d+/g, '')
  let aside = `${file}.${why}-${stamp}`
  for (let count = 2; existsSync(aside); count++) aside = `${file}.${why}-${stamp}-${count}`
  for (const suffix of ['', '-wal', '-shm', ...besides]) {
    if (existsSync(file + suffix)) renameSync(file + suffix, aside + suffix)
  }
  return aside
}

/**
 * Of a new database: a transaction changes a row here and there, and each page of these goes to the log as a whole. With
 * 4096, and steps of 1,000 writes in a checkpoint, a hill with 400 stations took 2.7 MB an hour of a card; with this, and one step
 * of 8,000, 1.9 (bench card-writes).
 */
const pageBytes = 1024
/** Looked through in well under a second, also on an SD card. */
const checkedBytesMax = 32e6

function openFile(file: string, open: OpenSqlite): Sqlite {
  const memory = file === ':memory:'
  if (!memory) mkdirSync(dirname(file), { recursive: true })
  const sqlite = open(file, { busyTimeoutMs: 2_000 })
  try {
    // before the first table, or it has no effect: lets retention hand pages back
    if (sqlite.pragma('user_version') === 0)
      sqlite.exec(`PRAGMA page_size = ${pageBytes}; PRAGMA auto_vacuum = INCREMENTAL`)
    sqlite.exec('PRAGMA journal_mode = WAL')
    limitLog(sqlite)
    // A large file would take too long at every start; damage in it shows when it is met, and is dealt with then.
    const large = !memory && statSync(file).size > checkedBytesMax
    const check = large ? 'ok' : sqlite.pragma<string>('quick_check(1)')
    if (check !== 'ok') throw damageError(String(check))
    migrate(sqlite, file)
    return sqlite
  } catch (error) {
    sqlite.close()
    throw error
  }
}

function migrate(sqlite: Sqlite, file: string): void {
  const version = sqlite.pragma<number>('user_version')!
  if (version > migrations.length) {
    throw new Failure({
      code: 'store-newer',
      subject: file,
      got: `a database of version ${version}`,
      expected: `version ${migrations.length} or below`,
      advice: 'use the program that made it, or another file',
    })
  }
  sqlite.exec('PRAGMA synchronous = FULL')
  for (const [index, sql] of migrations.entries()) {
    if (index < version) continue
    sqlite.exec('BEGIN IMMEDIATE')
    try {
      sqlite.exec(sql)
      sqlite.exec(`PRAGMA application_id = ${applicationId}; PRAGMA user_version = ${index + 1}`)
      sqlite.exec('COMMIT')
    } catch (error) {
      rollBack(sqlite)
      throw error
    }
  }
}

/** After some faults (a full disk) SQLite has rolled back by itself, and says that there is nothing to roll back. */
function rollBack(sqlite: Sqlite): void {
  try {
    sqlite.exec('ROLLBACK')
  } catch {
    // the fault before it is the one that is told
  }
}
