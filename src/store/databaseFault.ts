import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'

/** What went wrong with the database, as far as it matters for what to do next. */
export type DatabaseFaultKind = 'damaged' | 'full' | 'read-only' | 'busy' | 'input-output' | 'other'

/** Result codes by their beginning; extended codes follow the primary one. @see https://sqlite.org/rescode.html */
const kindsByCode: readonly (readonly [string, DatabaseFaultKind])[] = [
  ['SQLITE_CORRUPT', 'damaged'],
  ['SQLITE_NOTADB', 'damaged'],
  ['SQLITE_FULL', 'full'],
  ['SQLITE_READONLY', 'read-only'],
  ['SQLITE_CANTOPEN', 'read-only'],
  ['SQLITE_BUSY', 'busy'],
  ['SQLITE_LOCKED', 'busy'],
  ['SQLITE_IOERR', 'input-output'],
  // of the operating system, when the folder is made
  ['EROFS', 'read-only'],
  ['EACCES', 'read-only'],
  ['EPERM', 'read-only'],
  ['ENOTDIR', 'read-only'],
  ['EEXIST', 'read-only'],
  ['ENOSPC', 'full'],
]

const adviceByKind: Readonly<Record<DatabaseFaultKind, string>> = {
  damaged: 'it is set aside and a new one is begun; look at the disk, and restore a back-up',
  full: 'make room on the disk, or lower store.sizeMbMax',
  'read-only': 'check the permissions of the folder, and whether the disk has gone read-only',
  busy: 'let no other program hold the database open for writing',
  'input-output': 'look at the disk and at the system log',
  other: 'please report this',
}

export function databaseFaultKind(error: unknown): DatabaseFaultKind {
  const code = (error as { code?: unknown } | null)?.code
  if (typeof code !== 'string') return 'other'
  return kindsByCode.find(([prefix]) => code.startsWith(prefix))?.[1] ?? 'other'
}

/** @param doing what was being written or read, in words: 'keeping a question' */
export function databaseFailure(file: string, doing: string, error: unknown): Failure {
  const kind = databaseFaultKind(error)
  return new Failure({
    code: `store-${kind}`,
    subject: `${file}: ${doing}`,
    got: errorText(error),
    expected: 'a database that can be read and written',
    advice: adviceByKind[kind],
    cause: error,
  })
}
