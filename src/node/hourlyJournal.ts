import type { Clock } from '../runtime/clock.js'
import type { NodeEvent } from '../store/events.js'
import type { Store } from '../store/store.js'

const windowMs = 3_600_000

interface Count {
  sinceMs: number
  kept: number
  left: number
}

/**
 * Keeps events that may come without end: so many of a kind in an hour, of each radio; those left out are counted.
 * @returns takes one; `name` stands where the log says that there were more
 */
export function hourlyJournal(
  store: Pick<Store, 'events'>,
  clock: Clock,
  keptAnHour: number,
): (event: NodeEvent, name: string) => void {
  const counts = new Map<string, Count>()
  return (event, name) => {
    const { radio, kind, atWallMs } = event
    const nowMs = clock.monotonicMs()
    const key = `${radio} ${kind}`
    let count = counts.get(key)
    const say = (reason: string): void =>
      store.events.add({ atWallMs, kind, radio, text: name, reason })
    if (count === undefined || nowMs - count.sinceMs >= windowMs) {
      if (count !== undefined && count.left > 0)
        say(`${count.left} more of these in an hour, not listed`)
      count = { sinceMs: nowMs, kept: 0, left: 0 }
      counts.set(key, count)
    }
    if (count.kept < keptAnHour) {
      count.kept++
      store.events.add(event)
      return
    }
    // The first that is left out says that there are more.
    if (count.left++ === 0) say('this happens often: no more of it is listed in this hour')
  }
}
