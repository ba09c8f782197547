import { Failure } from '../runtime/failure.js'
import type { Attempt, Attempts } from './attempts.js'
import type { Database } from './database.js'
import { databaseFailure } from './databaseFault.js'
import { type GatheredWrite, packGathered, runGathered } from './gatheredWrites.js'
import type { GatherFile } from './gatherFile.js'
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
  /** A part of what was gathered into the database, the last one synced: the gathering file begins anew then. */
  checkpointStep(): 'more' | 'done' | 'failed'
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

/**
 * Rows in one step, of all tables together: the main thread is held for some 20 ms. A step writes pages again that the steps
 * before it have written, and a card gets them each time: so not fewer.
 */
export const rowsPerStep = 1_000

/** So many of all gathered writes, and all records of hearings up to this number, are in the database. */
export const takenCounters = { writes: 'gathered-writes', hearings: 'gathered-hearings' } as const

export function gatheredStorage(parts: GatheredStorageParts): GatheredStorage {
  const { database, work, waiting, gatherFile, changedStations } = parts

  const noteTaken = (counter: string, number: number): void => {
    database.run(
      'INSERT INTO counters (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value',
      counter,
      number,
    )
  }

  const firstOfWaiting = (countMax: number): readonly GatheredWrite[] => {
    const read = work.run('reading what was heard', () => waiting.first(countMax))
    if (read.ok) return read.value
    // The rest must not wait for what is lost.
    parts.onRefused(waiting.loseSaved())
    return waiting.first(countMax)
  }

  /** One transaction with what was gathered first; it stays gathered when that fails. */
  const merge = <Value>(durable: boolean, countMax: number, last: () => Value): Attempt<Value> => {
    const part = firstOfWaiting(countMax)
    let refused = 0
    const result = work.transaction(durable, 'keeping what was heard', () => {
      refused = runGathered(database, part)
      if (gatherFile !== undefined)
        noteTaken(takenCounters.writes, waiting.takenCount + part.length)
      return last()
    })
    if (!result.ok) return result
    waiting.taken(part.length)
    for (const { done } of part) done?.()
    if (refused > 0) {
      parts.onRefused(refused)
      work.report(refusedFailure(database.file, refused))
    }
    return result
  }

  const append = (): boolean => {
    if (gatherFile === undefined) return false
    try {
      const part = waiting.unsaved(rowsPerStep)
      const number = gatherFile.append(packGathered(part))
      if (number === undefined) return false
      waiting.saved(number, part)
    } catch (error) {
      work.report(databaseFailure(gatherFile.name, 'keeping what was heard', error))
      return false
    }
    return true
  }

  return {
    get hasNew() {
      if (waiting.unsavedCount > 0 || waiting.hasHearings) return true
      return gatherFile === undefined && changedStations().count > 0
    },
    append,
    settleStep() {
      if (waiting.count === 0) return { isLast: true, isSafe: true }
      // Into the file first: this transaction is not synced.
      const isSafe = gatherFile === undefined || waiting.unsavedCount === 0 || append()
      const { ok } = merge(false, rowsPerStep, () => {})
      return { isLast: !ok || waiting.count === 0, isSafe }
    },
    checkpointStep() {
      if (work.inside) return 'done'
      const stationsMax = rowsPerStep - Math.min(waiting.count, rowsPerStep)
      const isLast = waiting.count <= rowsPerStep && changedStations().count <= stationsMax
      const written = merge(isLast && gatherFile !== undefined, rowsPerStep, () => {
        if (isLast && gatherFile !== undefined)
          noteTaken(takenCounters.hearings, gatherFile.lastNumber)
        return changedStations().write(stationsMax)
      })
      if (!written.ok) return 'failed'
      written.value()
      if (!isLast) return 'more'
      waiting.forgetHearings()
      gatherFile?.beginAnew()
      return 'done'
    },
  }
}

const refusedFailure = (file: string, count: number): Failure =>
  new Failure({
    code: 'store-refused',
    subject: `${file}: keeping what was heard`,
    got: `${count} entries that the database does not take`,
    expected: 'values that fit its tables',
    advice: 'they are left out; please report this',
  })
