import {
  closeSync,
  existsSync,
  lstatSync,
  openSync,
  readdirSync,
  readFileSync,
  readSync,
  realpathSync,
  rmSync,
  writeFileSync,
} from 'node:fs'
import { basename, dirname, join } from 'node:path'
import { type LockKind, lockNames } from '../devices/nameLock.js'
import type { Clock } from '../runtime/clock.js'

/*
 * A copy of a database grows beside the name that it is to have. Until it is whole SQLite gives it no header, so nothing in it tells
 * what it is: a note beside it does, from before its first octet until it has its name. While it grows its name is locked.
 */

const partialSuffix = '.partial'
const noteSuffix = '-note'
const noteText = 'ridgepost: the file beside this one is a copy of a database that is not whole\n'
/** Where names cannot be locked, or the lock is another container's: what grows was written to since. */
const oldMs = 3_600_000

const copy: LockKind = {
  name: 'copy',
  expected: 'a name that nobody else is copying a database to',
  advice: 'wait until that copy is made, or give it another name',
}

/**
 * Has a copy made beside its name; what a former one had left there is removed first, and so is what `make` leaves when it throws.
 * @param make makes it, and gives it its name
 * @param onLeft told of the former one
 * @throws Failure 'copy-taken' while another process makes one of the same name
 */
export async function withPartialCopy<Value>(
  toFile: string,
  { clock, onLeft }: { readonly clock: Clock; readonly onLeft?: (partial: string) => void },
  make: (partial: string) => Value | Promise<Value>,
): Promise<Value> {
  const partial = toFile + partialSuffix
  const unlock = await lockNames(copy, [lockedName(partial)], toFile, clock)
  try {
    const isLeft = existsSync(partial)
    removeCopy(partial)
    if (isLeft) onLeft?.(partial)
    writeFileSync(partial + noteSuffix, noteText)
    return await make(partial)
  } catch (error) {
    removeCopy(partial)
    throw error
  } finally {
    rmSync(partial + noteSuffix, { force: true })
    await unlock()
  }
}

/**
 * Removes the copies beside a database that were broken off, by a kill or with the power: those with our note, not written to for an
 * hour, and made by nobody now. @returns their names
 */
export async function removeBrokenCopies(database: string, clock: Clock): Promise<string[]> {
  const removed: string[] = []
  if (database === ':memory:') return removed
  const folder = dirname(database)
  for (const name of namesIn(folder)) {
    if (!name.endsWith(partialSuffix + noteSuffix)) continue
    const partial = join(folder, name.slice(0, -noteSuffix.length))
    try {
      const unlock = await lockNames(copy, [lockedName(partial)], partial, clock)
      if (isBrokenOff(partial, clock.wallMs())) {
        removeCopy(partial)
        rmSync(partial + noteSuffix)
        removed.push(partial)
      }
      await unlock()
    } catch {
      // somebody is making it, or it is not ours to remove
    }
  }
  return removed
}

function isBrokenOff(partial: string, wallMs: number): boolean {
  const note = lstatSync(partial + noteSuffix)
  if (!note.isFile() || note.size !== noteText.length) return false
  if (readFileSync(partial + noteSuffix, 'utf8') !== noteText) return false
  const found = lstatSync(partial, { throwIfNoEntry: false })
  if (found !== undefined && !(found.isFile() && isDatabaseBegun(partial))) return false
  return wallMs - Math.max(note.mtimeMs, found?.mtimeMs ?? 0) > oldMs
}

const header = Buffer.from('SQLite format 3\0', 'latin1')

/** Empty, with nothing where the header comes last, or whole. */
function isDatabaseBegun(file: string): boolean {
  const begin = Buffer.alloc(header.length)
  const descriptor = openSync(file, 'r')
  try {
    readSync(descriptor, begin, 0, begin.length, 0)
  } finally {
    closeSync(descriptor)
  }
  return begin.equals(header) || begin.every((octet) => octet === 0)
}

function namesIn(folder: string): string[] {
  try {
    return readdirSync(folder)
  } catch {
    return []
  }
}

/** By its folder's own path: a folder may have several. */
function lockedName(partial: string): string {
  const folder = dirname(partial)
  return join(existsSync(folder) ? realpathSync(folder) : folder, basename(partial))
}

function removeCopy(partial: string): void {
  for (const suffix of ['', '-journal', '-wal', '-shm']) rmSync(partial + suffix, { force: true })
}
