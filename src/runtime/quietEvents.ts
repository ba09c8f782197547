import type { Clock } from './clock.js'

/** Tells of something, unless the same kind was told of just now. */
export type QuietEvents = (kind: string, text: string) => void

/**
 * Keeps a log from being flooded by whoever repeats himself: of each kind one text in `quietMs` is told, and the next
 * one says how many were left out. Kinds are few and fixed: they are kept for ever.
 */
export function quietEvents(
  clock: Clock,
  onEvent: (text: string) => void,
  quietMs = 10_000,
): QuietEvents {
  const kinds = new Map<string, { toldMs: number; leftOut: number }>()
  return (kind, text) => {
    const nowMs = clock.monotonicMs()
    const known = kinds.get(kind)
    if (known !== undefined && nowMs - known.toldMs < quietMs) {
      known.leftOut++
      return
    }
    const leftOut = known?.leftOut ?? 0
    kinds.set(kind, { toldMs: nowMs, leftOut: 0 })
    onEvent(leftOut === 0 ? text : `${text} (and ${leftOut} like it before)`)
  }
}
