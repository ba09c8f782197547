import { setNewest } from '../../runtime/setNewest.js'
import type { Announcement } from './announcement.js'

/** Another node that is heard here. Times are monotonic. */
export interface Neighbour extends Announcement {
  readonly radio: number
  readonly heardAtMs: number
  readonly heardCount: number
  /** when a session with it went to its end; undefined before the first */
  readonly metAtMs: number | undefined
}

export interface Neighbours {
  heard(announcement: Announcement, radio: number, nowMs: number): void
  /** A session with it went to its end. */
  met(call: string, nowMs: number): void
  find(call: string): Neighbour | undefined
  readonly all: readonly Neighbour[]
}

/** No hill hears more; the one not heard for longest makes room. */
const neighboursMax = 50

export function neighbours(): Neighbours {
  const known = new Map<string, Neighbour>()
  return {
    heard(announcement, radio, nowMs) {
      const before = known.get(announcement.call)
      const heardCount = (before?.heardCount ?? 0) + 1
      const metAtMs = before?.metAtMs
      const one = { ...announcement, radio, heardAtMs: nowMs, heardCount, metAtMs }
      setNewest(known, announcement.call, one, neighboursMax)
    },
    met(call, nowMs) {
      const one = known.get(call)
      if (one !== undefined) known.set(call, { ...one, metAtMs: nowMs })
    },
    find: (call) => known.get(call),
    get all() {
      return [...known.values()]
    },
  }
}
