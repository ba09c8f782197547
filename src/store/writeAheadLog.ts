import { statSync } from 'node:fs'
import type { Sqlite } from './sqliteDriver.js'

/**
 * What SQLite's log may hold before its pages go into the database: those that change often go there once. SQLite would do that
 * inside the commit that fills the log; here it is a call of its own, and SQLite does it only where that does not get its turn.
 */
const logBytes = 4_194_304
const logBytesMax = 4 * logBytes

/** How much the log of a database holds, as far as the size of its file tells. */
export interface WriteAheadLog {
  /** A transaction has begun that stays open for some time. */
  begun(): void
  /** What that one has put there is more than the log should hold. */
  isOverfull(): boolean
  /** After a commit. @returns true where it holds more than it should */
  committed(): boolean
  /** Takes it into the file, as far as nobody reads older pages. @returns false where some are left */
  empty(sqlite: Sqlite): boolean
}

export function writeAheadLog(file: string): WriteAheadLog {
  // Behind what it holds a log keeps up to `logBytes` of former rounds.
  const bytes = (): number =>
    file === ':memory:' ? 0 : (statSync(`${file}-wal`, { throwIfNoEntry: false })?.size ?? 0)
  /** all of it is in the file: the next commit cuts it back */
  let isEmpty = false
  let openBytesMax = logBytes
  return {
    begun() {
      const begunBytes = bytes()
      if (begunBytes <= logBytes) openBytesMax = logBytes
      // Until it is cut back its size tells nothing. While a reader holds it, it is not committed at each step.
      else openBytesMax = isEmpty ? 0 : begunBytes + logBytes / 2
    },
    isOverfull: () => bytes() > openBytesMax,
    committed() {
      isEmpty = false
      return bytes() > logBytes
    },
    empty(sqlite) {
      const done = sqlite.get<{ log: number; checkpointed: number }>(
        'PRAGMA wal_checkpoint(PASSIVE)',
      )
      isEmpty = done === undefined || done.checkpointed >= done.log
      return isEmpty
    },
  }
}

export function limitLog(sqlite: Sqlite): void {
  const pages = Math.floor(logBytesMax / sqlite.pragma<number>('page_size')!)
  sqlite.exec(`PRAGMA wal_autocheckpoint = ${pages}`)
  // it is cut back to this when it begins anew
  sqlite.exec(`PRAGMA journal_size_limit = ${logBytes}`)
}
