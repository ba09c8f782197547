import { setNewest } from '../../runtime/setNewest.js'

/** Names noted within a time, which does not begin anew when one is noted again. */
export interface Recently {
  has(name: string, nowMs: number): boolean
  note(name: string, nowMs: number): void
}

/** @param namesMax the name first noted longest ago is forgotten beyond it */
export function recently(windowMs: number, namesMax = 2000): Recently {
  const since = new Map<string, number>()
  const has = (name: string, nowMs: number): boolean => {
    const atMs = since.get(name)
    return atMs !== undefined && nowMs - atMs < windowMs
  }
  return {
    has,
    note(name, nowMs) {
      if (has(name, nowMs)) return
      setNewest(since, name, nowMs, namesMax)
    },
  }
}
