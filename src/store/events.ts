import type { Database } from './database.js'
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
import type { SqlValue } from './sqliteDriver.js'
import type { Writer } from './writer.js'

/**
 * What happens to a frame, a question or a message, in the order in which it may happen. 'ignored' and 'refused'
 * always have a reason; 'client' is what a KISS client did besides sending; 'control' what the control operator wanted by radio; 'fault' is something of the node's own that failed.
 */
export const eventKinds = [
  'heard',
  'repaired',
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
  'client',
  'control',
  'fault',
] as const
export type EventKind = (typeof eventKinds)[number]

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
  /** oldest first */
  query(filter?: EventFilter): StoredEvent[]
  /** so many of each kind in a stretch of time */
  countByKind(sinceWallMs: number): Partial<Record<EventKind, number>>
}

interface EventRow {
  id: number
  at_ms: number
  kind: EventKind
  radio: number | null
  station: string | null
  reference: string | null
  text: string
  reason: string | null
}

export function eventTable(database: Database, writer: Writer, rows: RowReader): EventTable {
  return {
    add(event) {
      const { atWallMs, kind, radio, station, reference, text, reason } = event
      writer.later(() => {
        database.run(
          'INSERT INTO events (at_ms, kind, radio, station, reference, text, reason) VALUES (?, ?, ?, ?, ?, ?, ?)',
          atWallMs,
          kind,
          radio ?? null,
          station ?? null,
          reference ?? null,
          text,
          reason ?? null,
        )
      })
    },
    query(filter = {}) {
      writer.flush()
      const { condition, values } = eventQuery(filter)
      return writer
        .reading('reading the log', [], () => rows.list(table, condition, ...values))
        .reverse()
    },
    countByKind(sinceWallMs) {
      writer.flush()
      const rows = writer.reading('counting the log', [], () =>
        database.all<{ kind: EventKind; count: number }>(
          'SELECT kind, count(*) AS count FROM events WHERE at_ms >= ? GROUP BY kind',
          sinceWallMs,
        ),
      )
      return Object.fromEntries(rows.map(({ kind, count }) => [kind, count]))
    },
  }
}

function eventQuery(filter: EventFilter): { condition: string; values: SqlValue[] } {
  const clauses: string[] = []
  const values: SqlValue[] = []
  const where = (clause: string, ...more: SqlValue[]): void => {
    clauses.push(clause)
    values.push(...more)
  }
  if (filter.sinceWallMs !== undefined) where('at_ms >= ?', filter.sinceWallMs)
  if (filter.untilWallMs !== undefined) where('at_ms < ?', filter.untilWallMs)
  if (filter.station !== undefined) {
    const { clause, values: more } = stationClause('station', filter.station)
    where(clause, ...more)
  }
  if (filter.kinds !== undefined && filter.kinds.length > 0) {
    where(`kind IN (${filter.kinds.map(() => '?').join(', ')})`, ...filter.kinds)
  }
  if (filter.radio !== undefined) where('radio = ?', filter.radio)
  if (filter.reference !== undefined) {
    // with a question come the messages that answered it
    where(
      "(reference = ? OR reference IN (SELECT 'M' || id FROM messages WHERE 'Q' || question_id = ?))",
      filter.reference,
      filter.reference,
    )
  }
  if (filter.afterId !== undefined) where('id > ?', filter.afterId)
  values.push(filter.limit ?? 1000)
  return { condition: `${clauses.join(' AND ') || '1'} ORDER BY id DESC LIMIT ?`, values }
}

/** A call without SSID stands for all of that call's SSIDs. */
export function stationClause(
  column: string,
  call: string,
): { clause: string; values: readonly string[] } {
  const wanted = call.toUpperCase()
  if (wanted.includes('-')) return { clause: `${column} = ?`, values: [wanted] }
  // '.' follows '-' in ASCII: everything from 'N0CALL-' to there begins with the call and a hyphen
  return {
    clause: `(${column} = ? OR (${column} >= ? AND ${column} < ?))`,
    values: [wanted, `${wanted}-`, `${wanted}.`],
  }
}

function eventOf(row: EventRow): StoredEvent {
  return {
    id: row.id,
    atWallMs: row.at_ms,
    kind: row.kind,
    radio: row.radio ?? undefined,
    station: row.station ?? undefined,
    reference: row.reference ?? undefined,
    text: row.text,
    reason: row.reason ?? undefined,
  }
}

const table: Table<EventRow, StoredEvent> = {
  name: 'events',
  read: eventOf,
  form: {
    id: whole,
    at_ms: wallTime,
    kind: oneOf(eventKinds),
    radio: orNull(whole),
    station: orNull(freeText),
    reference: orNull(textOf(100)),
    text: freeText,
    reason: orNull(freeText),
  },
}
