import type { Clock } from '../runtime/clock.js'
import type { Attempts } from './attempts.js'
import { type FlushTimer, flushTimer } from './flushTimer.js'
import type { GatheredStorage } from './gatheredStorage.js'
import type { WaitingWrites } from './waitingWrites.js'

/** When what was gathered is written: by itself, in steps that others find room between, or at once, where somebody asks. */
export interface GatheredSteps {
  readonly timer: FlushTimer
  /** All into the gathering file; where that is full, a step of the checkpoint instead. */
  flush(): void
  /** A part into the tables, not synced. @returns true when there is more */
  settleStep(): boolean
  /** All into the tables, synced. */
  checkpoint(): void
  /** The same in steps, from now on. */
  beginCheckpoint(): void
  readonly isCheckpointing: boolean
}

export interface GatheredStepsParts {
  readonly clock: Clock
  readonly flushIntervalMs: number
  readonly work: Attempts
  readonly waiting: WaitingWrites
  readonly storage: GatheredStorage
  /** the gathering file, or the database, is written to */
  readonly onBatch: () => void
}

/**
 * When so many wait, they go into the database: twice what a frame in 12 s makes in a day, after which retention brings them in. Stations
 * and the index of the log by station are spread over the database, so that each time costs a card a block for every station.
 */
const unmergedMax = 16_000
/** Between two steps. */
const pauseMs = 20

export function gatheredSteps(parts: GatheredStepsParts): GatheredSteps {
  const { work, waiting, storage } = parts
  /** a checkpoint has begun, and goes on until the gathering file begins anew */
  let checkpointing = false

  const timer = flushTimer(parts.clock, parts.flushIntervalMs, () => {
    if (flushStep()) timer.book(pauseMs)
  })

  const checkpointStep = (): boolean => {
    const step = storage.checkpointStep()
    if (step === 'failed') timer.book()
    return step === 'more'
  }

  /** @returns true when there is more for the gathering file */
  const flushStep = (): boolean => {
    timer.clear()
    if (work.inside) {
      timer.book()
      return false
    }
    if (!checkpointing) {
      if (!storage.hasNew) return false
      parts.onBatch()
      if (waiting.count < unmergedMax && storage.append()) return storage.hasNew
    }
    checkpointing = checkpointStep()
    if (checkpointing) timer.book(pauseMs)
    return false
  }

  return {
    timer,
    flush() {
      while (flushStep());
    },
    settleStep() {
      if (work.inside) return false
      const { isLast, isSafe } = storage.settleStep()
      if (!isSafe) {
        checkpointing = true
        timer.book(0)
      }
      return !isLast
    },
    checkpoint() {
      while (checkpointStep());
    },
    beginCheckpoint() {
      checkpointing = true
      timer.book(0)
    },
    get isCheckpointing() {
      return checkpointing
    },
  }
}
