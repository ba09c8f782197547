import type { Clock } from '../runtime/clock.js'
import type { Failure } from '../runtime/failure.js'
import { type Database, damagedFailure } from './database.js'
import { databaseFailure, databaseFaultKind } from './databaseFault.js'

export type Attempt<Value> =
  | { readonly ok: true; readonly value: Value }
  | { readonly ok: false; readonly failure: Failure }

/** Work on the database: what fails there is reported, and comes back as a value. */
export interface Attempts {
  /** Where the database turns out to be damaged, it is set aside, and the work is done on a new one. */
  run<Value>(doing: string, work: () => Value): Attempt<Value>
  /** The same in a transaction of its own. @param durable it is on the disk when this returns */
  transaction<Value>(durable: boolean, doing: string, work: () => Value): Attempt<Value>
  /**
   * The same in a durable one that stays open for the next step, or is committed with this one.
   * @param onEnd told whether what the steps did was kept, or undone
   */
  step<Value>(
    doing: string,
    isCommitted: boolean,
    work: () => Value,
    onEnd: (kept: boolean) => void,
  ): Attempt<Value>
  /** a transaction is running */
  readonly inside: boolean
  /** Counts a fault, and tells it, at most once a minute of a kind. */
  report(failure: Failure): void
  readonly faultCount: number
}

const sameFaultEveryMs = 60_000

export function attempts(
  database: Database,
  { clock, onFault }: { readonly clock: Clock; readonly onFault: (failure: Failure) => void },
): Attempts {
  const toldMs = new Map<string, number>()
  let faultCount = 0
  let inside = false

  const report = (failure: Failure): void => {
    faultCount++
    const nowMs = clock.monotonicMs()
    const lastMs = toldMs.get(failure.code)
    if (lastMs !== undefined && nowMs - lastMs < sameFaultEveryMs) return
    toldMs.set(failure.code, nowMs)
    onFault(failure)
  }

  const afterDamage = <Value>(failure: Failure, work: () => Value): Attempt<Value> => {
    try {
      report(damagedFailure(failure, database.setAside()))
      return { ok: true, value: work() }
    } catch (error) {
      const again = databaseFailure(database.file, 'beginning a new one', error)
      report(again)
      return { ok: false, failure: again }
    }
  }

  const run = <Value>(doing: string, work: () => Value): Attempt<Value> => {
    try {
      return { ok: true, value: work() }
    } catch (error) {
      const failure = databaseFailure(database.file, doing, error)
      if (databaseFaultKind(error) === 'damaged' && database.file !== ':memory:')
        return afterDamage(failure, work)
      report(failure)
      return { ok: false, failure }
    }
  }

  const within = <Value>(work: () => Value): Value => {
    inside = true
    try {
      return work()
    } finally {
      inside = false
    }
  }

  return {
    run,
    report,
    get inside() {
      return inside
    },
    get faultCount() {
      return faultCount
    },
    transaction: (durable, doing, work) =>
      run(doing, () => within(() => database.transaction(durable, work))),
    step: (doing, isCommitted, work, onEnd) =>
      run(doing, () =>
        within(() => {
          const value = database.openTransaction(work, onEnd)
          if (isCommitted) database.commitOpen()
          return value
        }),
      ),
  }
}
