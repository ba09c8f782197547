import type { Database } from './database.js'
import { type EventSearch, eventSearch } from './eventSearch.js'
import {
  freeText,
  oneOf,
  orNull,
  type RowReader,
  type Table,
  textOf,
  wallTime,
  whole,
} from './rows.js'
import type { Writer } from './writer.js'

/**
 * What happens to a frame, a question or a message, in the order in which it may happen. 'ignored' and 'refused'
 * always have a reason; 'damaged' is what looked like a frame and was not read, its reason the likely causes; 'connected' and 'disconnected' are of a station in connected mode; 'client' is what a KISS client did besides sending; 'control' what the control operator wanted by radio; 'emergency' a call for help that was heard; 'overdue' somebody who was not heard by the time that he gave; 'hold', 'release', 'settings', 'cut'
 * and 'recovered' are of a radio as a whole; 'fault' is something of the node's own, or of a radio, that failed.
 */
export const eventKinds = [
  'heard',
  'repaired',
  'damaged',
  'ignored',
  'asked',
  'refused',
  'answered',
  'left',
  'posted',
  'queued',
  'held',
  'sent',
  'acknowledged',
  'rejected',
  'delivered',
  'given up',
  'expired',
  'started',
  'connected',
  'disconnected',
  'client',
  'control',
  'emergency',
  'overdue',
  'hold',
  'release',
  'settings',
  'cut',
  'fault',
  'recovered',
] as const
export type EventKind = (typeof eventKinds)[number]

/** Why most of what is heard is not answered: a person who reads a line needs no telling. */
export const nothingAsked = 'nothing asked'

/** One line of the log. */
export interface NodeEvent {
  readonly atWallMs: number
  readonly kind: EventKind
  readonly radio?: number | undefined
  /** the other station: who was heard, or to whom something goes */
  readonly station?: string | undefined
  /** what it belongs to, the same for all events of one thing: 'Q12' a question, 'M31' a message of ours, 'B4' a mailbox entry, 'T9' a frame of a KISS client */
  readonly reference?: string | undefined
  /** what it is about, in words */
  readonly text: string
  /** why, where the kind alone does not say it */
  readonly reason?: string | undefined
}

export interface StoredEvent extends NodeEvent {
  readonly id: number
}

export interface EventFilter {
  /** from this moment on */
  readonly sinceWallMs?: number | undefined
  /** before this moment */
  readonly untilWallMs?: number | undefined
  /** a call sign with SSID, or without, which then means every SSID of it */
  readonly station?: string | undefined
  readonly kinds?: readonly EventKind[] | undefined
  readonly radio?: number | undefined
  /** with 'Q12' also the messages that answered it */
  readonly reference?: string | undefined
  /** only events after this one, to follow the log */
  readonly afterId?: number | undefined
  /** the newest so many; default 1000 */
  readonly limit?: number | undefined
}

export interface EventTable {
  /** gathered: on the disk within the flush interval */
  add(event: NodeEvent): void
  /** the newest thousand or `limit`, oldest first */
  query(filter?: EventFilter): StoredEvent[]
  /** all, or the newest `limit`, oldest first, read as they are taken */
  each(filter?: EventFilter): Iterable<StoredEvent>
  /** whether there are more than so many */
  isMoreThan(count: number, filter?: Omit<EventFilter, 'limit'>): boolean
  /** so many of each kind; kinds that there are none of are left out */
  count(filter?: Omit<EventFilter, 'limit'>): Partial<Record<EventKind, number>>
}

/** Read at once: a reader that stops in between keeps nothing open. */
const rowsAtOnce = 500

/**
 * @param gathered for another process's database: what is not in it yet, oldest first. The node's own puts it there
 *   before it looks.
 */
export function eventTable(
  database: Database,
  writer: Writer,
  rows: RowReader,
  gathered: () => { readonly events: readonly NodeEvent[]; readonly lastId: number } = () => ({
    events: [],
    lastId: lastEventId(database),
  }),
): EventTable {
  const look = (filter: EventFilter): { search: EventSearch; later: StoredEvent[] } => {
    const { events, lastId } = gathered()
    const search = eventSearch(database, filter, lastId)
    const numbered = events.map((event, index) => ({ ...event, id: lastId + 1 + index }))
    const later = numbered.filter(
      (event) => event.id > (filter.afterId ?? 0) && search.matches(event),
    )
    return { search, later }
  }

  const rowsOf = (ids: readonly number[]): StoredEvent[] =>
    rows
      .list(table, 'id IN (SELECT value FROM json_each(?))', JSON.stringify(ids))
      .sort((one, other) => one.id - other.id)

  function* newest(filter: EventFilter, limit: number | undefined): Generator<StoredEvent> {
    writer.settle()
    const reading = <Value>(otherwise: Value, read: () => Value): Value =>
      writer.reading('reading the log', otherwise, read)
    const looked = reading(undefined, () => look(filter))
    if (looked === undefined) return
    const { search, later } = looked
    const kept = limit === undefined ? later : later.slice(Math.max(0, later.length - limit))
    const wanted = limit === undefined ? Number.POSITIVE_INFINITY : limit - kept.length
    if (wanted > 0) {
      const from =
        wanted === Number.POSITIVE_INFINITY
          ? undefined
          : reading(undefined, () => search.newestFrom(wanted))
      for (let lastId = (from ?? 1) - 1; ; ) {
        const ids = reading([], () => search.idsAfter(lastId, rowsAtOnce))
        yield* reading([], () => rowsOf(ids))
        if (ids.length < rowsAtOnce) break
        lastId = ids.at(-1)!
      }
    }
    yield* kept
  }

  return {
    add(event) {
      const { atWallMs, kind, radio, station, reference, text, reason } = event
      writer.later('event', [
        ...[atWallMs, kind, radio ?? null, station ?? null, reference ?? null],
        ...[text, reason ?? null],
      ])
    },
    query: (filter = {}) => [...newest(filter, filter.limit ?? 1000)],
    each: (filter = {}) => newest(filter, filter.limit),
    isMoreThan(count, filter = {}) {
      writer.settle()
      return writer.reading('counting the log', false, () => {
        const { search, later } = look(filter)
        const more = count + 1 - later.length
        return more <= 0 || search.newestFrom(more) !== undefined
      })
    },
    count(filter = {}) {
      writer.settle()
      return writer.reading('counting the log', {}, () => {
        const { search, later } = look(filter)
        const counts = search.countByKind(eventKinds)
        for (const { kind } of later) counts[kind] = (counts[kind] ?? 0) + 1
        return Object.fromEntries(Object.entries(counts).filter(([, count]) => count > 0))
      })
    },
  }
}

/** The number of the event that was written last; 0 for none. */
const lastEventId = (database: Database): number =>
  database.get<{ id: number | null }>('SELECT max(id) AS id FROM events')?.id ?? 0

const table: Table<StoredEvent> = {
  name: 'events',
  columns: {
    id: ['id', whole],
    atWallMs: ['at_ms', wallTime],
    kind: ['kind', oneOf(eventKinds)],
    radio: ['radio', orNull(whole)],
    station: ['station', orNull(freeText)],
    reference: ['reference', orNull(textOf(100))],
    text: ['text', freeText],
    reason: ['reason', orNull(freeText)],
  },
}
