import { Failure } from '../runtime/failure.js'
import type { Attempts } from './attempts.js'
import type { Database } from './database.js'
import { databaseFailure } from './databaseFault.js'
import { type GatheredWrite, packGathered, runGathered } from './gatheredWrites.js'
import type { GatherFile } from './gatherFile.js'
import { openSteps, type Step } from './openSteps.js'
import type { WaitingWrites } from './waitingWrites.js'
import type { ChangedRows } from './writer.js'

/** Takes what was gathered to the disk: soon into the gathering file, some hours later into the database. */
export interface GatheredStorage {
  /** something is not on the disk yet */
  readonly hasNew: boolean
  /** A part of it into the gathering file. @returns false when the database must take it instead */
  append(): boolean
  /** A part of it into the database, where a query finds it; not synced. */
  settleStep(): SettleStep
  /**
   * A part of what was gathered into the database, in one transaction with the parts that follow, as far as the write-ahead log
   * should hold it; with the last one it is committed and synced, and the gathering file begins anew.
   */
  checkpointStep(): 'more' | 'done' | 'failed'
  /** such a transaction is open: the oldest writes may not make room */
  readonly isOpen: boolean
}

export interface SettleStep {
  readonly isLast: boolean
  /** false where the gathering file lacks some of it: a checkpoint is due, which is synced */
  readonly isSafe: boolean
}

export interface GatheredStorageParts {
  readonly database: Database
  readonly work: Attempts
  readonly waiting: WaitingWrites
  /** without one, the database takes it each time */
  readonly gatherFile: GatherFile | undefined
  readonly changedStations: () => ChangedRows
  /** so many writes that the database does not take are left out */
  readonly onRefused: (count: number) => void
}

/** Rows in one step, of all tables together: where a million frames are stored it holds the main thread for some 20 ms of CPU time. */
export const rowsPerStep = 125
/** Writes in one record of the gathering file: a flood costs a card a record for so many. */
export const writesPerRecord = 1_000

/** So many of all gathered writes, and all records of hearings up to this number, are in the database. */
export const takenCounters = { writes: 'gathered-writes', hearings: 'gathered-hearings' } as const

export function gatheredStorage(parts: GatheredStorageParts): GatheredStorage {
  const { database, work, waiting, gatherFile, changedStations } = parts

  const kept = ({ part, refused }: Step): void => {
    for (const { done } of part) done?.()
    if (refused === 0) return
    parts.onRefused(refused)
    work.report(refusedFailure(database.file, refused))
  }
  const open = openSteps(waiting, kept)

  const commitOpen = (): void => void work.run('keeping what was heard', database.commitOpen)

  /** The next to be written. */
  const nextPart = (): readonly GatheredWrite[] => {
    const read = work.run('reading what was heard', () => waiting.part(open.count, rowsPerStep))
    if (read.ok) return read.value
    // The rest must not wait for what is lost.
    commitOpen()
    parts.onRefused(waiting.loseSaved())
    return waiting.part(open.count, rowsPerStep)
  }

  /** In the caller's transaction. @returns how many of them the database refused */
  const write = (part: readonly GatheredWrite[]): number => {
    const refused = runGathered(database, part)
    if (gatherFile !== undefined)
      noteTaken(database, takenCounters.writes, waiting.takenCount + open.count + part.length)
    return refused
  }

  const append = (): boolean => gatherFile !== undefined && appendPart(gatherFile, waiting, work)

  return {
    get hasNew() {
      if (waiting.unsavedCount > 0 || waiting.hasHearings) return true
      return gatherFile === undefined && changedStations().count > 0
    },
    append,
    get isOpen() {
      return open.isOpen
    },
    settleStep() {
      if (waiting.count === 0) return { isLast: true, isSafe: true }
      // Into the file first: this transaction is not synced.
      const isSafe = gatherFile === undefined || waiting.unsavedCount === 0 || append()
      commitOpen()
      const part = nextPart()
      const written = work.transaction(false, 'keeping what was heard', () => write(part))
      if (written.ok) {
        waiting.taken(part.length)
        kept({ part, refused: written.value, undo: () => {} })
      }
      return { isLast: !written.ok || waiting.count === 0, isSafe }
    },
    checkpointStep() {
      if (work.inside) return 'done'
      const part = nextPart()
      const from = open.count
      const stationsMax = rowsPerStep - part.length
      const isLast = waiting.count <= from + part.length && changedStations().count <= stationsMax
      const step = (): void => {
        // A damaged database was set aside, and what the former steps did with it.
        if (open.count !== from) return
        open.add({ part, refused: write(part), undo: changedStations().write(stationsMax) })
        if (isLast && gatherFile !== undefined)
          noteTaken(database, takenCounters.hearings, gatherFile.lastNumber)
      }
      let isKept = false
      const isCommitted = isLast || database.isOpenLarge()
      const { ok } = work.step('keeping what was heard', isCommitted, step, (kept) => {
        isKept = kept
        open.end(kept)
      })
      if (!ok) return 'failed'
      if (!isLast || !isKept) return 'more'
      waiting.forgetHearings()
      gatherFile?.beginAnew()
      return 'done'
    },
  }
}

/** @returns false where the file is full, or does not take it */
function appendPart(file: GatherFile, waiting: WaitingWrites, work: Attempts): boolean {
  try {
    const part = waiting.unsaved(writesPerRecord)
    const number = file.append(packGathered(part))
    if (number === undefined) return false
    waiting.saved(number, part)
    return true
  } catch (error) {
    work.report(databaseFailure(file.name, 'keeping what was heard', error))
    return false
  }
}

function noteTaken(database: Database, counter: string, number: number): void {
  database.run(
    'INSERT INTO counters (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value',
    counter,
    number,
  )
}

const refusedFailure = (file: string, count: number): Failure =>
  new Failure({
    code: 'store-refused',
    subject: `${file}: keeping what was heard`,
    got: `${count} entries that the database does not take`,
    expected: 'values that fit its tables',
    advice: 'they are left out; please report this',
  })
