import { existsSync, realpathSync } from 'node:fs'
import { basename, dirname, join } from 'node:path'
import { putInPlace } from '../devices/replaceFile.js'
import type { Clock } from '../runtime/clock.js'
import { Failure } from '../runtime/failure.js'
import { databaseOver, setFileAside } from './database.js'
import { databaseFailure, databaseFaultKind, databaseText, isNoDatabase } from './databaseFault.js'
import { gatherFileOf, gatherSuffix, readGathered } from './gatherFile.js'
import { takeGatheredInto } from './gathering.js'
import { withPartialCopy } from './partialCopy.js'
import { applicationId, migrations } from './schema.js'
import { openSqlite, type Sqlite } from './sqliteDriver.js'

export interface DatabaseSummary {
  readonly file: string
  /** migrations made */
  readonly version: number
  readonly messageCount: number
  readonly mailboxCount: number
  readonly letterCount: number
  readonly eventCount: number
  readonly stationCount: number
}

/**
 * Copies a database to another file while a node may be using it. The copy is whole and checked before it takes
 * the name; a file that is there already is replaced only then.
 * @param onLeft told of a copy that was broken off under this name, and is removed
 * @throws Failure 'backup-failed', 'copy-taken', 'store-...'
 */
export async function backupDatabase(
  file: string,
  toFile: string,
  options: { readonly clock: Clock; readonly onLeft?: (partial: string) => void },
): Promise<DatabaseSummary> {
  refuseMissing(file)
  refuseOwn(file, toFile)
  try {
    return await withPartialCopy(toFile, options, (partial) => {
      copyDatabase(file, partial)
      const summary = checkDatabase(partial)
      putInPlace(partial, toFile)
      return { ...summary, file: toFile }
    })
  } catch (error) {
    if (error instanceof Failure) throw error
    throw new Failure({
      code: 'backup-failed',
      subject: toFile,
      problem: `cannot be written: ${databaseText(error)}`,
      advice: 'check that the disk has room and can be written',
      cause: error,
    })
  }
}

interface Restored {
  readonly summary: DatabaseSummary
  readonly formerFile: string | undefined
}

/**
 * Puts a back-up in the place of a database. The back-up is checked first; the former database is kept beside it
 * under the name that is returned.
 * @param clock for the name of the former database
 * @throws Failure 'store-in-use' while a node has it open, 'backup-...' for a file that is no sound back-up
 */
export async function restoreDatabase(
  fromFile: string,
  file: string,
  clock: Clock,
): Promise<Restored> {
  checkDatabase(fromFile)
  const put = (partial: string): Restored => {
    copyDatabase(fromFile, partial)
    const summary = checkDatabase(partial)
    let formerFile: string | undefined
    if (existsSync(file)) {
      refuseInUse(file)
      formerFile = setFileAside(file, 'before-restore', clock.wallMs(), [gatherSuffix])
    }
    putInPlace(partial, file, formerFile)
    return { summary: { ...summary, file }, formerFile }
  }
  try {
    return await withPartialCopy(file, { clock }, put)
  } catch (error) {
    throw error instanceof Failure ? error : databaseFailure(file, `copying ${fromFile}`, error)
  }
}

/**
 * Looks through a whole database.
 * @throws Failure 'backup-missing', 'backup-foreign', 'backup-damaged', 'store-newer'
 */
export function checkDatabase(file: string): DatabaseSummary {
  refuseMissing(file)
  let sqlite: Sqlite | undefined
  try {
    sqlite = openSqlite(file, { readOnly: true })
    if (sqlite.pragma('application_id') !== applicationId) {
      throw foreign(file, 'a database of another program')
    }
    const version = sqlite.pragma<number>('user_version')!
    if (version > migrations.length) {
      throw new Failure({
        code: 'store-newer',
        subject: file,
        got: `a database of version ${version}`,
        expected: `version ${migrations.length} or below`,
        advice: 'use the program that made it',
      })
    }
    const check = sqlite.pragma('integrity_check(1)')
    if (check !== 'ok') throw damaged(file, 'it is damaged', new Error(String(check)))
    const count = (table: string): number =>
      sqlite!.get<{ count: number }>(`SELECT count(*) AS count FROM ${table}`)!.count
    const has = (table: string): boolean =>
      sqlite!.get("SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = ?", table) !==
      undefined
    return {
      file,
      version,
      messageCount: count('messages'),
      mailboxCount: count('mailbox'),
      // A back-up of a former version has none.
      letterCount: has('letters') ? count('letters') : 0,
      eventCount: count('events'),
      stationCount: count('stations'),
    }
  } catch (error) {
    if (error instanceof Failure) throw error
    if (isNoDatabase(error)) throw foreign(file, 'a file of another kind')
    throw damaged(file, databaseText(error), error)
  } finally {
    sqlite?.close()
  }
}

/**
 * Makes a copy in one file. It is read in one transaction, so it holds what one moment held, and ends however often
 * somebody writes meanwhile. What was heard and is not in the database yet is brought into the copy.
 */
function copyDatabase(fromFile: string, toFile: string): void {
  const records = readGathered(gatherFileOf(fromFile))
  const source = openSqlite(fromFile, { readOnly: true, busyTimeoutMs: 5_000 })
  try {
    source.run('VACUUM INTO ?', toFile)
  } finally {
    source.close()
  }
  if (records.length === 0) return
  const copy = openSqlite(toFile)
  try {
    takeGatheredInto(
      databaseOver(toFile, () => copy),
      records,
    )
  } finally {
    copy.close()
  }
}

/** Leaving write-ahead logging needs the file alone: it fails while anybody else has it open. */
function refuseInUse(file: string): void {
  let sqlite: Sqlite | undefined
  try {
    sqlite = openSqlite(file)
    sqlite.exec('PRAGMA journal_mode = DELETE')
  } catch (error) {
    if (databaseFaultKind(error) !== 'busy') return // damaged: it may be replaced
    throw new Failure({
      code: 'store-in-use',
      subject: file,
      got: 'a database that another process has open',
      expected: 'one that nobody uses',
      advice: 'stop the node first',
      cause: error,
    })
  } finally {
    sqlite?.close()
  }
}

function refuseMissing(file: string): void {
  if (existsSync(file)) return
  throw new Failure({
    code: 'backup-missing',
    subject: file,
    problem: 'there is no such file',
  })
}

/** Put in the place of the database or its log, a copy would take from a running node what it keeps meanwhile. */
function refuseOwn(file: string, toFile: string): void {
  const folder = dirname(toFile)
  const to = existsSync(folder) ? join(realpathSync(folder), basename(toFile)) : toFile
  const names = [realpathSync(file), join(realpathSync(dirname(file)), basename(file))]
  const own = names.flatMap((name) => [name, `${name}-wal`, `${name}-shm`, gatherFileOf(name)])
  if (!own.includes(to)) return
  throw new Failure({
    code: 'backup-own-file',
    subject: toFile,
    got: 'what the node has open',
    expected: 'another file for the copy',
  })
}

const foreign = (file: string, got: string): Failure =>
  new Failure({
    code: 'backup-foreign',
    subject: file,
    got,
    expected: 'a database of this node',
  })

const damaged = (file: string, problem: string, cause?: unknown): Failure =>
  new Failure({
    code: 'backup-damaged',
    subject: file,
    problem,
    advice: 'use another back-up',
    cause,
  })
