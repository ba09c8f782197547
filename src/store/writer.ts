import type { Cancel, Clock } from '../runtime/clock.js'
import { Failure } from '../runtime/failure.js'
import { type Database, damagedFailure } from './database.js'
import { databaseFailure, databaseFaultKind } from './databaseFault.js'
import {
  type GatheredName,
  type GatheredWrite,
  packGathered,
  runGathered,
} from './gatheredWrites.js'
import type { GatherFile } from './gatherFile.js'
import type { SqlValue } from './sqliteDriver.js'
import type { Hearing } from './stations.js'

export type Attempt<Value> =
  | { readonly ok: true; readonly value: Value }
  | { readonly ok: false; readonly failure: Failure }

export interface WriterCounters {
  /** transactions that were synced to the disk before going on */
  durableCount: number
  /** writes of what was gathered meanwhile, to the gathering file or the database */
  batchCount: number
  /** writes that failed, each told through onFault (at most one a minute of a kind) */
  faultCount: number
  /** gathered writes that found no room while the database could not be written, or that it refused */
  droppedCount: number
}

/** Rows that were changed in memory and are to be written. */
export interface ChangedRows {
  readonly count: number
  /** Writes at most so many, in the caller's transaction; what it returns is called when that is done. */
  write(countMax: number): () => void
}

/** The two ways of writing: at once, for what must not be lost, and gathered, for what may be late. */
export interface Writer {
  /**
   * Runs `work` in a transaction that is on the disk when this returns; what was gathered follows within a second. A
   * fault comes back as a value. Inside another one it is a part of that: a fault undoes the whole.
   */
  durably<Value>(doing: string, work: () => Value): Attempt<Value>
  /** Gathers a write: within the flush interval in the gathering file, some hours later in the database. */
  later(name: GatheredName, values: readonly SqlValue[], done?: () => void): void
  /** Gathers what a station's row will say; until that is written (`changedStations`), the gathering file says it. */
  heard(hearing: Hearing): void
  /** What the gathering file still held when it was opened: goes into the database first. */
  takeBack(writes: readonly GatheredWrite[], takenBefore: number): void
  /** Puts what was gathered into the database, where a query finds it; not synced. */
  settle(): void
  /** Writes what was gathered since the last time into the gathering file. */
  flush(): void
  /** The same, with the stations' rows, and synced: the gathering file begins anew. */
  checkpoint(): void
  /** Runs a read; a fault gives `otherwise`. */
  reading<Value>(doing: string, otherwise: Value, read: () => Value): Value
  /** What a checkpoint writes besides. */
  changedStations: ChangedRows
  readonly counters: Readonly<WriterCounters>
  /** writes that are not in the database yet */
  readonly pendingCount: number
  close(): void
}

export interface WriterOptions {
  readonly clock: Clock
  readonly onFault: (failure: Failure) => void
  /** what was heard waits so long for more, in ms */
  readonly flushIntervalMs: number
  /** gathered writes that may wait for the database */
  readonly pendingMax: number
  /** without one, what is gathered goes into the database each time */
  readonly gatherFile?: GatherFile | undefined
}

const sameFaultEveryMs = 60_000
/** When so many wait, they go into the database. */
const unmergedMax = 8_000
/** So many in one step, which takes some 10 ms; the next one follows after a pause. */
const writesPerStep = 1_000
const pauseMs = 50
const soonMs = 1_000

/** So many of all gathered writes, and all records of hearings up to this number, are in the database. */
export const takenCounters = { writes: 'gathered-writes', hearings: 'gathered-hearings' } as const

/** Faults of the database never leave here as exceptions: the node goes on with what it can still do. */
export function createWriter(database: Database, options: WriterOptions): Writer {
  const { clock, gatherFile } = options
  const counters: WriterCounters = {
    durableCount: 0,
    batchCount: 0,
    faultCount: 0,
    droppedCount: 0,
  }
  // Not in the database yet; the first savedCount of them are in the gathering file.
  let unmerged: GatheredWrite[] = []
  let savedCount = 0
  // Not in the gathering file yet.
  let hearings: Hearing[] = []
  // Of all writes ever gathered, so many are in the database.
  let takenCount = 0
  let cancelFlush: Cancel | undefined
  let flushAtMs = Number.POSITIVE_INFINITY
  const toldMs = new Map<string, number>()
  /** a checkpoint has begun, and goes on until the gathering file begins anew */
  let checkpointing = false
  /** a transaction is running */
  let inside = false

  const tell = (failure: Failure): void => {
    counters.faultCount++
    const nowMs = clock.monotonicMs()
    const lastMs = toldMs.get(failure.code)
    if (lastMs !== undefined && nowMs - lastMs < sameFaultEveryMs) return
    toldMs.set(failure.code, nowMs)
    options.onFault(failure)
  }

  const attempt = <Value>(doing: string, work: () => Value): Attempt<Value> => {
    try {
      return { ok: true, value: work() }
    } catch (error) {
      const failure = databaseFailure(database.file, doing, error)
      if (databaseFaultKind(error) !== 'damaged' || database.file === ':memory:') {
        tell(failure)
        return { ok: false, failure }
      }
      return afterDamage(failure, work)
    }
  }

  const afterDamage = <Value>(failure: Failure, work: () => Value): Attempt<Value> => {
    try {
      tell(damagedFailure(failure, database.setAside()))
      return { ok: true, value: work() }
    } catch (error) {
      const again = databaseFailure(database.file, 'beginning a new one', error)
      tell(again)
      return { ok: false, failure: again }
    }
  }

  const noteTaken = (counter: string, number: number): void => {
    database.run(
      'INSERT INTO counters (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value',
      counter,
      number,
    )
  }

  const alone = <Value>(durable: boolean, doing: string, work: () => Value): Attempt<Value> =>
    attempt(doing, () => {
      inside = true
      try {
        return database.transaction(durable, work)
      } finally {
        inside = false
      }
    })

  /** One transaction with what was gathered first; it stays gathered when that fails. */
  const merge = <Value>(durable: boolean, countMax: number, work: () => Value): Attempt<Value> => {
    const part = unmerged.slice(0, countMax)
    let refused = 0
    const result = alone(durable, 'keeping what was heard', () => {
      refused = runGathered(database, part)
      if (gatherFile !== undefined) noteTaken(takenCounters.writes, takenCount + part.length)
      return work()
    })
    if (!result.ok) return result
    takenCount += part.length
    unmerged = unmerged.slice(part.length)
    savedCount = Math.max(0, savedCount - part.length)
    for (const { done } of part) done?.()
    if (refused > 0) tellRefused(refused)
    return result
  }

  const tellRefused = (count: number): void => {
    counters.droppedCount += count
    tell(
      new Failure({
        code: 'store-refused',
        subject: `${database.file}: keeping what was heard`,
        got: `${count} entries that the database does not take`,
        expected: 'values that fit its tables',
        advice: 'they are left out; please report this',
      }),
    )
  }

  const settle = (): void => {
    if (inside || unmerged.length === 0) return
    // Into the file first: this transaction is not synced.
    if (gatherFile !== undefined && savedCount < unmerged.length && !append(gatherFile)) {
      checkpointing = true
      book(0)
    }
    merge(false, unmerged.length, () => {})
  }

  const checkpoint = (): void => {
    while (checkpointStep());
  }

  /** @returns true when there is more to write */
  const checkpointStep = (): boolean => {
    if (inside) return false
    const isLast = unmerged.length <= writesPerStep && writer.changedStations.count <= writesPerStep
    const written = merge(isLast && gatherFile !== undefined, writesPerStep, () => {
      if (isLast && gatherFile !== undefined)
        noteTaken(takenCounters.hearings, gatherFile.lastNumber)
      return writer.changedStations.write(writesPerStep)
    })
    if (!written.ok) {
      book()
      return false
    }
    written.value()
    if (!isLast) return true
    hearings = []
    gatherFile?.beginAnew()
    return false
  }

  /** @returns false when the database must take it instead */
  const append = (file: GatherFile): boolean => {
    const writes = unmerged.slice(savedCount)
    try {
      const firstWrite = takenCount + savedCount
      if (file.append(packGathered({ firstWrite, writes, hearings })) === undefined) return false
    } catch (error) {
      tell(databaseFailure(file.name, 'keeping what was heard', error))
      return false
    }
    savedCount = unmerged.length
    hearings = []
    return true
  }

  const flush = (): void => {
    cancelFlush?.()
    cancelFlush = undefined
    flushAtMs = Number.POSITIVE_INFINITY
    if (inside) {
      book()
      return
    }
    if (!checkpointing) {
      if (!hasNew()) return
      counters.batchCount++
      if (gatherFile !== undefined && unmerged.length < unmergedMax && append(gatherFile)) return
    }
    checkpointing = checkpointStep()
    if (checkpointing) book(pauseMs)
  }

  const hasNew = (): boolean =>
    unmerged.length > savedCount ||
    hearings.length > 0 ||
    (gatherFile === undefined && writer.changedStations.count > 0)

  const book = (afterMs = options.flushIntervalMs): void => {
    const atMs = clock.monotonicMs() + Math.min(afterMs, options.flushIntervalMs)
    if (atMs >= flushAtMs) return
    cancelFlush?.()
    flushAtMs = atMs
    cancelFlush = clock.at(atMs, flush)
  }

  const writer: Writer = {
    counters,
    changedStations: { count: 0, write: () => () => {} },
    get pendingCount() {
      return unmerged.length
    },
    durably(doing, work) {
      // Part of the one that is running: both happen, or neither.
      if (inside) return { ok: true, value: work() }
      const result = alone(true, doing, work)
      if (!result.ok) return result
      counters.durableCount++
      // What the log says of it is not long in following.
      book(soonMs)
      return result
    },
    later(name, values, done) {
      if (unmerged.length >= options.pendingMax) {
        counters.droppedCount++
        // the oldest makes room, unless it is just being written
        if (inside) return
        unmerged.shift()
        takenCount++
        savedCount = Math.max(0, savedCount - 1)
      }
      unmerged.push({ name, values, done })
      // A flood does not wait for the interval, and never becomes one long step.
      if (unmerged.length % unmergedMax === 0) book(0)
      else book()
    },
    heard(hearing) {
      if (gatherFile !== undefined && hearings.length < options.pendingMax) hearings.push(hearing)
      book()
    },
    takeBack(writes, takenBefore) {
      takenCount = takenBefore
      unmerged = [...writes]
      savedCount = unmerged.length
    },
    settle,
    flush,
    checkpoint,
    reading(doing, otherwise, read) {
      const result = attempt(doing, read)
      return result.ok ? result.value : otherwise
    },
    close() {
      checkpoint()
      cancelFlush?.()
    },
  }
  return writer
}
