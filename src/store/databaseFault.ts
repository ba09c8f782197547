import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'

/** What went wrong with the database, as far as it matters for what to do next. */
export type DatabaseFaultKind = 'damaged' | 'full' | 'read-only' | 'busy' | 'input-output' | 'other'

/** By primary result code. @see https://sqlite.org/rescode.html */
const kindsByResultCode: ReadonlyMap<number, DatabaseFaultKind> = new Map([
  [11, 'damaged'], // SQLITE_CORRUPT
  [26, 'damaged'], // SQLITE_NOTADB
  [13, 'full'], // SQLITE_FULL
  [8, 'read-only'], // SQLITE_READONLY
  [14, 'read-only'], // SQLITE_CANTOPEN
  [3, 'read-only'], // SQLITE_PERM
  [23, 'read-only'], // SQLITE_AUTH
  [5, 'busy'], // SQLITE_BUSY
  [6, 'busy'], // SQLITE_LOCKED
  [10, 'input-output'], // SQLITE_IOERR
])

/** Of the operating system, when the folder is made. */
const kindsBySystemCode: ReadonlyMap<string, DatabaseFaultKind> = new Map([
  ['EROFS', 'read-only'],
  ['EACCES', 'read-only'],
  ['EPERM', 'read-only'],
  ['ENOTDIR', 'read-only'],
  ['EEXIST', 'read-only'],
  ['ENOSPC', 'full'],
])

const adviceByKind: Readonly<Record<DatabaseFaultKind, string>> = {
  damaged: 'it is set aside and a new one is begun; look at the disk, and restore a back-up',
  full: 'make room on the disk, or lower store.sizeMbMax',
  'read-only': 'check the permissions of the folder, and whether the disk has gone read-only',
  busy: 'let no other program hold the database open for writing',
  'input-output': 'look at the disk and at the system log',
  other: 'please report this',
}

const wordsByKind: Readonly<Record<Exclude<DatabaseFaultKind, 'other'>, string>> = {
  damaged: 'it is damaged',
  full: 'the disk is full',
  'read-only': 'it cannot be opened, or not be written to',
  busy: 'another program holds it',
  'input-output': 'the disk fails, or it is not a file',
}

export function databaseFaultKind(error: unknown): DatabaseFaultKind {
  const { code, errcode } = (error ?? {}) as { code?: unknown; errcode?: unknown }
  // an extended code has its primary one in the low octet
  if (typeof errcode === 'number') return kindsByResultCode.get(errcode & 0xff) ?? 'other'
  return (typeof code === 'string' ? kindsBySystemCode.get(code) : undefined) ?? 'other'
}

/** In words; SQLite's own are for programmers. */
export function databaseText(error: unknown): string {
  if (isNoDatabase(error)) return 'it is not a database'
  const kind = databaseFaultKind(error)
  const isOfSystem = typeof (error as { errcode?: unknown } | null)?.errcode !== 'number'
  return kind === 'other' || isOfSystem ? errorText(error) : wordsByKind[kind]
}

/** The file is not a database at all (SQLITE_NOTADB). */
export const isNoDatabase = (error: unknown): boolean =>
  (error as { errcode?: unknown } | null)?.errcode === 26

/** What SQLite throws where it meets damage, for damage that a check of the whole file found. */
export const damageError = (finding: string): Error =>
  Object.assign(new Error(finding), { errcode: 11 })

/** @param doing what was being written or read, in words: 'keeping a question' */
export function databaseFailure(file: string, doing: string, error: unknown): Failure {
  const kind = databaseFaultKind(error)
  return new Failure({
    code: `store-${kind}`,
    subject: `${file}: ${doing}`,
    problem: databaseText(error),
    advice: adviceByKind[kind],
    cause: error,
  })
}
