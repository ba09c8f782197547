import { type Clock, pause } from '../runtime/clock.js'
import type { Failure } from '../runtime/failure.js'
import { type Attempt, attempts } from './attempts.js'
import type { Database } from './database.js'
import { gatheredSteps } from './gatheredSteps.js'
import { gatheredStorage, rowsPerStep, writesPerRecord } from './gatheredStorage.js'
import { type GatheredName, type GatheredWrite, writesInFile } from './gatheredWrites.js'
import type { GatherFile } from './gatherFile.js'
import type { SqlValue } from './sqliteDriver.js'
import type { Hearing } from './stations.js'
import { waitingWrites } from './waitingWrites.js'

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
  /** Writes at most so many, in the caller's transaction; what it returns is called when that was undone. */
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
  /** A part of that, which is no long step. @returns true when there is more to put there */
  settleStep(): boolean
  /** The same in steps, with room for others between them: a query after it finds little left to put there. */
  settled(): Promise<void>
  /** Writes what was gathered since the last time into the gathering file. */
  flush(): void
  /** The same, with the stations' rows, and synced: the gathering file begins anew. */
  checkpoint(): void
  /** The same in steps, from now on. */
  beginCheckpoint(): void
  readonly isCheckpointing: boolean
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

/** Between steps that somebody waits for. */
const shortPauseMs = 5
/** Within the same write of the file system's journal, mostly: then it costs a card one block. */
const soonMs = 1_000

/** Faults of the database never leave here as exceptions: the node goes on with what it can still do. */
export function createWriter(database: Database, options: WriterOptions): Writer {
  const work = attempts(database, options)
  const waiting = waitingWrites(options.pendingMax, (from) =>
    writesInFile(options.gatherFile, from),
  )
  const counts = { durableCount: 0, batchCount: 0, droppedCount: 0 }
  let closed = false

  const storage = gatheredStorage({
    ...{ database, work, waiting, gatherFile: options.gatherFile },
    changedStations: () => writer.changedStations,
    onRefused: (count) => {
      counts.droppedCount += count
    },
  })

  const steps = gatheredSteps({
    ...{ clock: options.clock, flushIntervalMs: options.flushIntervalMs, work, waiting, storage },
    onBatch: () => {
      counts.batchCount++
    },
  })
  const { timer } = steps

  const writer: Writer = {
    get counters() {
      return { ...counts, faultCount: work.faultCount }
    },
    changedStations: { count: 0, write: () => () => {} },
    get pendingCount() {
      return waiting.count
    },
    durably(doing, inTransaction) {
      // Part of the one that is running: both happen, or neither.
      if (work.inside) return { ok: true, value: inTransaction() }
      const result = work.transaction(true, doing, inTransaction)
      if (!result.ok) return result
      counts.durableCount++
      // What the log says of it is not long in following.
      timer.book(soonMs)
      return result
    },
    later(name, values, done) {
      const isBeingWritten = work.inside || storage.isOpen
      if (!waiting.add({ name, values, done }, isBeingWritten)) counts.droppedCount++
      // A flood does not wait for the interval, and never becomes one long step.
      timer.book(waiting.unsavedCount % writesPerRecord === 0 ? 0 : undefined)
    },
    heard(hearing) {
      if (options.gatherFile !== undefined) waiting.addHearing(hearing)
      timer.book()
    },
    takeBack: waiting.takeBack,
    settle() {
      while (steps.settleStep());
    },
    settleStep: steps.settleStep,
    async settled() {
      while (!closed && waiting.count > rowsPerStep && steps.settleStep())
        await pause(options.clock, shortPauseMs)
    },
    flush: steps.flush,
    checkpoint: steps.checkpoint,
    beginCheckpoint: steps.beginCheckpoint,
    get isCheckpointing() {
      return steps.isCheckpointing
    },
    reading(doing, otherwise, read) {
      const result = work.run(doing, read)
      return result.ok ? result.value : otherwise
    },
    close() {
      closed = true
      steps.checkpoint()
      timer.stop()
    },
  }
  return writer
}
