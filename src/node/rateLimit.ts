import { setNewest } from '../runtime/setNewest.js'

/** Counts what each of many did within a window that slides with time. */
export interface RateLimit {
  /** Notes one more and tells how many there are now in the window, this one included. */
  note(name: string, nowMs: number): number
  /** without noting one */
  count(name: string, nowMs: number): number
}

/** @param namesMax the name not noted for longest is forgotten beyond it */
export function rateLimit(windowMs: number, namesMax = 5_000): RateLimit {
  const timesByName = new Map<string, number[]>()
  const recent = (name: string, nowMs: number): number[] =>
    (timesByName.get(name) ?? []).filter((atMs) => nowMs - atMs < windowMs)
  return {
    note(name, nowMs) {
      const times = [...recent(name, nowMs), nowMs]
      setNewest(timesByName, name, times, namesMax)
      return times.length
    },
    count: (name, nowMs) => recent(name, nowMs).length,
  }
}
