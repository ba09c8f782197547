import type { RadioEvent, RadioEventKind } from '../radio/radioEvent.js'
import type { Clock } from '../runtime/clock.js'
import type { EventKind } from '../store/events.js'
import type { Store } from '../store/store.js'
import { hourlyJournal } from './hourlyJournal.js'

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

/** A key line or a plug that flaps must not fill the log. */
const keptAnHour = 20

/** Keeps radio events in the database, in one order with the node's. @returns takes one; `name` is the radio's */
export function radioJournal(
  store: Pick<Store, 'events'>,
  clock: Clock,
): (name: string, event: RadioEvent) => void {
  const keep = hourlyJournal(store, clock, keptAnHour)
  return (name, event) => {
    const kind = kept[event.kind]
    if (kind === undefined) return
    const { atWallMs, radio, reason } = event
    keep({ atWallMs, kind, radio, text: name, reason }, name)
  }
}
