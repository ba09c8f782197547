import type { Cancel, Clock } from '../runtime/clock.js'
import type { Failure } from '../runtime/failure.js'
import { type Database, damagedFailure } from './database.js'
import { databaseFailure, databaseFaultKind } from './databaseFault.js'

export type Attempt<Value> =
  | { readonly ok: true; readonly value: Value }
  | { readonly ok: false; readonly failure: Failure }

export interface WriterCounters {
  /** transactions that were synced to the disk before going on */
  durableCount: number
  /** transactions that gathered what had been heard meanwhile */
  batchCount: number
  /** writes that failed, each told through onFault (at most one a minute of a kind) */
  faultCount: number
  /** batched writes that found no room while the database could not be written */
  droppedCount: number
}

/** The two ways of writing: at once, for what must not be lost, and gathered, for what may be late. */
export interface Writer {
  /**
   * Runs `work` in a transaction that is on the disk when this returns. A fault comes back as a value. Inside
   * another one it is a part of that: a fault undoes the whole.
   */
  durably<Value>(doing: string, work: () => Value): Attempt<Value>
  /** Books a write; writes that are booked within one interval share a transaction. */
  later(write: () => void): void
  /** Writes what is booked now. */
  flush(): void
  /** Runs a read; a fault gives `otherwise`. */
  reading<Value>(doing: string, otherwise: Value, read: () => Value): Value
  readonly counters: Readonly<WriterCounters>
  readonly pendingCount: number
  close(): void
}

export interface WriterOptions {
  readonly clock: Clock
  readonly onFault: (failure: Failure) => void
  /** at least this long between two batches, in ms */
  readonly flushIntervalMs: number
  /** batched writes that may wait */
  readonly pendingMax: number
}

const sameFaultEveryMs = 60_000
const writesPerBatchMax = 5_000

/** Faults of the database never leave here as exceptions: the node goes on with what it can still do. */
export function createWriter(database: Database, options: WriterOptions): Writer {
  const { clock } = options
  const counters: WriterCounters = {
    durableCount: 0,
    batchCount: 0,
    faultCount: 0,
    droppedCount: 0,
  }
  let pending: (() => void)[] = []
  let cancelFlush: Cancel | undefined
  let lastFlushMs = Number.NEGATIVE_INFINITY
  const toldMs = new Map<string, number>()
  /** a durable transaction is running, and has written what waited */
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

  const runPending = (writes: readonly (() => void)[]): void => {
    for (const write of writes) write()
  }

  const flush = (): void => {
    if (inside) return
    cancelFlush?.()
    cancelFlush = undefined
    lastFlushMs = clock.monotonicMs()
    while (pending.length > 0) {
      const part = pending.slice(0, writesPerBatchMax)
      const done = attempt('keeping what was heard', () =>
        database.transaction(false, () => runPending(part)),
      )
      if (!done.ok) {
        book()
        return
      }
      counters.batchCount++
      pending = pending.slice(part.length)
    }
  }

  const book = (): void => {
    if (cancelFlush !== undefined) return
    const atMs = Math.max(clock.monotonicMs(), lastFlushMs + options.flushIntervalMs)
    cancelFlush = clock.at(atMs, flush)
  }

  return {
    counters,
    get pendingCount() {
      return pending.length
    },
    durably(doing, work) {
      // Part of the one that is running: both happen, or neither.
      if (inside) return { ok: true, value: work() }
      // What waits goes along: one sync of the disk for both.
      const part = pending.slice(0, writesPerBatchMax)
      const result = attempt(doing, () => {
        inside = true
        try {
          return database.transaction(true, () => {
            runPending(part)
            return work()
          })
        } finally {
          inside = false
        }
      })
      if (!result.ok) return result
      counters.durableCount++
      pending = pending.slice(part.length)
      if (pending.length === 0) {
        cancelFlush?.()
        cancelFlush = undefined
        lastFlushMs = clock.monotonicMs()
      }
      return result
    },
    later(write) {
      if (pending.length >= options.pendingMax) {
        counters.droppedCount++
        // the oldest makes room, unless it is just being written
        if (inside) return
        pending.shift()
      }
      pending.push(write)
      book()
    },
    flush,
    reading(doing, otherwise, read) {
      const result = attempt(doing, read)
      return result.ok ? result.value : otherwise
    },
    close() {
      flush()
      cancelFlush?.()
    },
  }
}
