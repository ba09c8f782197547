import type { Database } from './database.js'
import type { Writer } from './writer.js'

/** A frame of the node's that a radio was given, and what became of it. */
export interface TransmissionRecord {
  readonly atWallMs: number
  readonly radio: number
  readonly priority: string
  /** without FCS */
  readonly octets: Uint8Array
  readonly outcome: 'sent' | 'refused' | 'expired'
  /** on the air, with its share of the preamble */
  readonly airtimeMs: number | undefined
  /** as in the events */
  readonly reference: string | undefined
  readonly reason: string | undefined
}

export interface TransmissionTable {
  /** gathered: on the disk within the flush interval */
  add(transmission: TransmissionRecord): void
  /** oldest first, the newest `limit` of them */
  query(filter?: { sinceWallMs?: number; limit?: number }): TransmissionRecord[]
}

interface TransmissionRow {
  at_ms: number
  radio: number
  priority: string
  octets: Uint8Array
  outcome: TransmissionRecord['outcome']
  airtime_ms: number | null
  reference: string | null
  reason: string | null
}

export function transmissionTable(database: Database, writer: Writer): TransmissionTable {
  return {
    add(transmission) {
      writer.later(() => {
        database.run(
          `INSERT INTO transmissions (at_ms, radio, priority, octets, outcome, airtime_ms, reference, reason)
           VALUES (?, ?, ?, ?, ?, ?, ?, ?)`,
          transmission.atWallMs,
          transmission.radio,
          transmission.priority,
          transmission.octets,
          transmission.outcome,
          transmission.airtimeMs ?? null,
          transmission.reference ?? null,
          transmission.reason ?? null,
        )
      })
    },
    query(filter = {}) {
      writer.flush()
      const rows = writer.reading('reading transmissions', [], () =>
        database.all<TransmissionRow>(
          'SELECT * FROM transmissions WHERE at_ms >= ? ORDER BY id DESC LIMIT ?',
          filter.sinceWallMs ?? 0,
          filter.limit ?? 1000,
        ),
      )
      return rows.reverse().map((row) => ({
        atWallMs: row.at_ms,
        radio: row.radio,
        priority: row.priority,
        octets: new Uint8Array(row.octets),
        outcome: row.outcome,
        airtimeMs: row.airtime_ms ?? undefined,
        reference: row.reference ?? undefined,
        reason: row.reason ?? undefined,
      }))
    },
  }
}
