import { readdir, stat } from 'node:fs/promises'
import { join } from 'node:path'
import { type Clock, every } from '../../runtime/clock.js'

/** Data of a file or folder that may be replaced while the node runs. */
export interface LiveData<T> {
  /** undefined until the first load succeeded; the last good data ever after */
  current(): T | undefined
  /** settles when the first load is over, well or not */
  readonly ready: Promise<void>
  /** Looks for a change now; the regular looks do the same. */
  look(): Promise<void>
  close(): void
}

export interface LiveDataOptions<T> {
  /** a file or a folder */
  readonly path: string
  readonly clock: Clock
  readonly load: (path: string) => Promise<T>
  /** the old data stays in use */
  readonly onFault: (error: unknown) => void
  readonly intervalMs?: number
}

const intervalMsDefault = 5000

/**
 * Loads at once and again after each change. It looks at size, time and inode instead of being told by the system,
 * because that also works for a file that was replaced by renaming, on a memory stick and on a network folder.
 * A change is taken up when two looks have seen it alike, so that a half-written file is not.
 */
export function liveData<T>(options: LiveDataOptions<T>): LiveData<T> {
  const { path, clock, load, onFault, intervalMs = intervalMsDefault } = options
  let data: T | undefined
  let loaded: string | undefined
  let seen: string | undefined
  let busy: Promise<void> | undefined

  const take = async (mark: string): Promise<void> => {
    loaded = mark
    try {
      data = await load(path)
    } catch (error) {
      onFault(error)
    }
  }
  const lookOnce = async (): Promise<void> => {
    const mark = await fingerprint(path)
    const settled = mark === seen
    seen = mark
    if (mark !== loaded && settled) await take(mark)
  }
  const look = (): Promise<void> => {
    busy ??= lookOnce().finally(() => {
      busy = undefined
    })
    return busy
  }
  const ready = (async () => {
    seen = await fingerprint(path)
    await take(seen)
  })()
  const cancel = every(clock, intervalMs, () => void look())
  return { current: () => data, ready, look, close: () => cancel() }
}

/** What changes when a file, or any file directly in a folder, does; 'missing' when there is none. */
async function fingerprint(path: string): Promise<string> {
  try {
    const found = await stat(path)
    if (!found.isDirectory()) return mark(found)
    const names = (await readdir(path)).sort()
    const marks = await Promise.all(
      names.map(async (name) => `${name}=${mark(await stat(join(path, name)))}`),
    )
    return marks.join('\n')
  } catch {
    return 'missing'
  }
}

const mark = (found: { ino: number; size: number; mtimeMs: number }): string =>
  `${found.ino}:${found.size}:${found.mtimeMs}`
