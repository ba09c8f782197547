import {
  closeSync,
  constants,
  fchmodSync,
  fchownSync,
  fsyncSync,
  lchownSync,
  lstatSync,
  mkdirSync,
  openSync,
  readdirSync,
  renameSync,
  rmSync,
  type Stats,
  statSync,
  writeFileSync,
} from 'node:fs'
import { dirname, join, resolve } from 'node:path'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'

export interface ReplaceOptions {
  /**
   * false leaves it to the system when it is on the disk: what is lost with the power is the change, never the file, on
   * file systems that write a file out before they rename it over another (ext4 as it is mounted by default)
   */
  readonly durable?: boolean
}

/**
 * Puts a file in the place of another, all or nothing: whoever reads sees the old one or the new one, also after the
 * power failed meanwhile. It keeps the old one's owner and mode; one that is new belongs to the owner of its folder, so that
 * what root writes stays with the service. A link is replaced, not followed.
 * @throws Failure 'output-unwritable'; the old file is as it was
 */
export function replaceFile(
  path: string,
  content: string | Uint8Array,
  { durable = true }: ReplaceOptions = {},
): void {
  const partial = `${path}.partial`
  try {
    makeFolder(dirname(path))
    rmSync(partial, { force: true })
    const old = lookAt(path)
    // Made by us and by nobody else, and no more open to others than the old one was until it has its owner.
    const file = openSync(partial, 'wx', old === undefined ? 0o666 : 0o600)
    try {
      writeFileSync(file, content)
      giveAway(file, ownerOf(path), old?.mode)
      if (durable) fsyncSync(file)
    } finally {
      closeSync(file)
    }
    renameSync(partial, path)
    if (durable) syncFolder(dirname(path))
  } catch (cause) {
    removeQuietly(partial)
    throw unwritable(path, cause)
  }
}

/**
 * As replaceFile, with a file that was prepared beside it.
 * @param like the file whose owner and mode it takes; the one that it replaces unless given
 */
export function putInPlace(prepared: string, path: string, like = path): void {
  try {
    const file = openSync(prepared, constants.O_RDWR | constants.O_NOFOLLOW)
    try {
      giveAway(file, ownerOf(like), lookAt(like)?.mode)
      fsyncSync(file)
    } finally {
      closeSync(file)
    }
    renameSync(prepared, path)
    syncFolder(dirname(path))
  } catch (cause) {
    throw unwritable(path, cause)
  }
}

/** As putInPlace, with a folder of files. */
export function putFolderInPlace(prepared: string, path: string): void {
  const former = `${path}.former`
  try {
    const owner = ownerOf(path)
    for (const name of readdirSync(prepared)) {
      const file = openSync(join(prepared, name), constants.O_RDONLY | constants.O_NOFOLLOW)
      try {
        giveAway(file, owner)
        fsyncSync(file)
      } finally {
        closeSync(file)
      }
    }
    const folder = openSync(prepared, constants.O_RDONLY | constants.O_NOFOLLOW)
    try {
      giveAway(folder, owner, lookAt(path)?.mode)
    } finally {
      closeSync(folder)
    }
    syncFolder(prepared)
    rmSync(former, { recursive: true, force: true })
    if (lstatSync(path, { throwIfNoEntry: false }) !== undefined) renameSync(path, former)
    renameSync(prepared, path)
    rmSync(former, { recursive: true, force: true })
    syncFolder(dirname(path))
  } catch (cause) {
    throw unwritable(path, cause)
  }
}

type Owner = Pick<Stats, 'uid' | 'gid'>

/** What stands there; a link is none of it: where it points may be nobody's wish. */
function lookAt(path: string): Stats | undefined {
  const stats = lstatSync(path, { throwIfNoEntry: false })
  return stats?.isSymbolicLink() ? undefined : stats
}

const ownerOf = (path: string): Owner => lookAt(path) ?? statSync(dirname(path))

/**
 * Only root gives files away. Whoever else tries may be ended by the system: a service's filter of system calls leaves no
 * call that changes owners.
 */
function giveAway(file: number, { uid, gid }: Owner, mode?: number): void {
  if (isRoot()) fchownSync(file, uid, gid)
  if (mode !== undefined) fchmodSync(file, mode & 0o7777)
}

const isRoot = (): boolean => process.geteuid?.() === 0

/** What is made belongs to the owner of the folder that it is made in. */
function makeFolder(path: string): void {
  const first = mkdirSync(resolve(path), { recursive: true })
  if (first === undefined || !isRoot()) return
  const { uid, gid } = statSync(dirname(first))
  for (let folder = resolve(path); folder.length >= first.length; folder = dirname(folder))
    lchownSync(folder, uid, gid)
}

/** What is in the way of removing it was in the way before. */
function removeQuietly(path: string): void {
  try {
    rmSync(path, { force: true })
  } catch {}
}

/** A renaming is on the disk when its folder is; some file systems know no such call. */
function syncFolder(path: string): void {
  const folder = openSync(path, constants.O_RDONLY)
  try {
    fsyncSync(folder)
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EINVAL') throw error
  } finally {
    closeSync(folder)
  }
}

/** @returns Failure 'output-unwritable' */
export const unwritable = (subject: string, cause: unknown): Failure =>
  new Failure({
    code: 'output-unwritable',
    subject,
    problem: `cannot be written: ${errorText(cause)}`,
    cause,
  })
