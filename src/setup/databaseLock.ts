import { statSync } from 'node:fs'
import { basename, dirname, resolve } from 'node:path'
import { type LockKind, lockNames, type ReleaseLock } from '../devices/nameLock.js'
import type { Clock } from '../runtime/clock.js'

const database: LockKind = {
  name: 'database',
  expected: 'a database that no other program uses',
  advice:
    'a node runs on it: two would both answer, each with half of the messages. Stop it first (`systemctl stop ridgepost`), or name another store.file',
}

/**
 * Locks a database for a node, or for what puts another in its place.
 * @param file ':memory:' is nobody else's
 * @throws Failure 'database-taken' when another process has it
 */
export async function lockDatabase(file: string, clock: Clock): Promise<ReleaseLock> {
  return file === ':memory:' ? async () => {} : lockNames(database, namesOf(file), file, clock)
}

/** By its path, and by its folder's own number, since a folder may have several names; the file itself may be replaced. */
function namesOf(file: string): string[] {
  const path = resolve(file)
  const folder = statSync(dirname(path), { bigint: true, throwIfNoEntry: false })
  if (folder === undefined) return [path]
  return [path, JSON.stringify([String(folder.dev), String(folder.ino), basename(path)])]
}
