import type { Clock } from './clock.js'

/** Tells of something, unless the same kind was told of just now. */
export type QuietEvents = (kind: string, text: string) => void

/**
 * Keeps a log from being flooded by whoever repeats himself: of each kind `burst` texts in `quietMs` are told, and the next
 * one says how many were left out. Kinds are few and fixed: they are kept for ever.
 */
export function quietEvents(
  clock: Clock,
  onEvent: (text: string) => void,
  quietMs = 10_000,
  burst = 1,
): QuietEvents {
  const kinds = new Map<string, { sinceMs: number; told: number; leftOut: number }>()
  return (kind, text) => {
    const nowMs = clock.monotonicMs()
    const known = kinds.get(kind)
    if (known !== undefined && nowMs - known.sinceMs < quietMs) {
      if (known.told < burst) {
        known.told++
        onEvent(text)
      } else known.leftOut++
      return
    }
    const leftOut = known?.leftOut ?? 0
    kinds.set(kind, { sinceMs: nowMs, told: 1, leftOut: 0 })
    onEvent(leftOut === 0 ? text : `${text} (and ${leftOut} like it before)`)
  }
}
