import type { GatheredWrite } from './gatheredWrites.js'
import type { WaitingWrites } from './waitingWrites.js'

/** What one step of a checkpoint did. */
export interface Step {
  readonly part: readonly GatheredWrite[]
  /** how many of them the database refused */
  readonly refused: number
  /** called when it was undone */
  readonly undo: () => void
}

/** The steps of a checkpoint whose transaction is still open: they count when it is committed. */
export interface OpenSteps {
  /** writes in them, the oldest of those that wait */
  readonly count: number
  readonly isOpen: boolean
  add(step: Step): void
  /** The transaction has ended. */
  end(kept: boolean): void
}

/** @param onKept told of each step that was kept */
export function openSteps(waiting: WaitingWrites, onKept: (step: Step) => void): OpenSteps {
  let steps: Step[] = []
  const count = (): number => steps.reduce((sum, { part }) => sum + part.length, 0)
  return {
    get count() {
      return count()
    },
    get isOpen() {
      return steps.length > 0
    },
    add: (step) => void steps.push(step),
    end(kept) {
      const ended = steps
      if (kept) waiting.taken(count())
      steps = []
      for (const step of ended)
        if (kept) onKept(step)
        else step.undo()
    },
  }
}
