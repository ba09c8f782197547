import type { RadioEvent, RadioEventKind } from '../radio/radioEvent.js'
import type { Clock } from '../runtime/clock.js'
import type { EventKind } from '../store/events.js'
import type { Store } from '../store/store.js'

/**
 * What of a radio's events the log keeps, and under which kind: what says why the transmitter was silent, or was cut. What
 * becomes of a single frame is an event of the node's or of a client's already; each keying is a transmission.
 */
const kept: Readonly<Record<RadioEventKind, EventKind | undefined>> = {
  queued: undefined,
  held: undefined,
  sent: undefined,
  refused: undefined,
  expired: undefined,
  keyed: undefined,
  unkeyed: undefined,
  unheard: undefined,
  identified: undefined,
  cut: 'cut',
  hold: 'hold',
  release: 'release',
  settings: 'settings',
  fault: 'fault',
  recovered: 'recovered',
}

const windowMs = 3_600_000
/** A key line or a plug that flaps must not fill the log: so many of a kind in an hour, of each radio. */
const keptAnHour = 20

interface Count {
  sinceMs: number
  kept: number
  left: number
}

/** Keeps radio events in the database, in one order with the node's. @returns takes one; `name` is the radio's */
export function radioJournal(
  store: Pick<Store, 'events'>,
  clock: Clock,
): (name: string, event: RadioEvent) => void {
  const counts = new Map<string, Count>()
  return (name, event) => {
    const kind = kept[event.kind]
    if (kind === undefined) return
    const nowMs = clock.monotonicMs()
    const key = `${event.radio} ${kind}`
    let count = counts.get(key)
    const add = (text: string, reason: string | undefined): void =>
      store.events.add({ atWallMs: event.atWallMs, kind, radio: event.radio, text, reason })
    if (count === undefined || nowMs - count.sinceMs >= windowMs) {
      if (count !== undefined && count.left > 0)
        add(name, `${count.left} more of these in an hour, not listed`)
      count = { sinceMs: nowMs, kept: 0, left: 0 }
      counts.set(key, count)
    }
    if (count.kept < keptAnHour) {
      count.kept++
      add(name, event.reason)
      return
    }
    // The first that is left out says that there are more.
    if (count.left++ === 0) add(name, 'this happens often: no more of it is listed in this hour')
  }
}
