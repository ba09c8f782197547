import type { Cancel, Clock } from '../runtime/clock.js'
import type { Failure } from '../runtime/failure.js'
import type { Database } from './database.js'
import { databaseFailure } from './databaseFault.js'

/** Takes the pages of the write-ahead log into the database file in a call of its own: others find room between it and the commit. */
export interface LogEmptying {
  /** As soon as may be. */
  book(): void
  /** At once, and no more after that: the database is closed next. */
  end(): void
}

/** Somebody reads what was there before: each try looks through the whole log. A commit books the next one. */
const againMs = 1_000
const afterFaultMs = 60_000

export function logEmptying(parts: {
  readonly database: Database
  readonly clock: Clock
  readonly onFault: (failure: Failure) => void
}): LogEmptying {
  const { database, clock, onFault } = parts
  let notBeforeMs = 0
  let cancel: Cancel | undefined

  const empty = (): void => {
    cancel = undefined
    let waitMs = 0
    try {
      waitMs = database.emptyLog() ? 0 : againMs
    } catch (error) {
      waitMs = afterFaultMs
      onFault(databaseFailure(database.file, 'bringing its log into it', error))
    }
    notBeforeMs = clock.monotonicMs() + waitMs
  }

  const book = (): void => {
    cancel ??= clock.at(Math.max(clock.monotonicMs(), notBeforeMs), empty)
  }

  return {
    book,
    end() {
      cancel?.()
      empty()
      cancel = () => {}
    },
  }
}
