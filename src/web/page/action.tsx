import type { ComponentChild } from 'preact'
import { useState } from 'preact/hooks'
import { words } from './settings'

/** Runs what a button wants, and has for the page why it did not work. */
export function useAction(): {
  run(action: () => Promise<unknown>): void
  readonly problem: ComponentChild
  readonly isDone: boolean
} {
  const [why, setWhy] = useState<string | undefined>(undefined)
  const [isDone, setDone] = useState(false)
  return {
    run(action) {
      setDone(false)
      setWhy(undefined)
      action().then(
        () => setDone(true),
        (error: Error) => setWhy(error.message),
      )
    },
    isDone,
    problem:
      why === undefined ? null : (
        <span class="mark wrong" role="alert">
          {words.value.failed(why)}
        </span>
      ),
  }
}
