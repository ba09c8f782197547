import type { Database } from './database.js'
import type { Writer } from './writer.js'

/** A frame that a radio was given, of the node's or of a KISS client's, and what became of it. */
export interface TransmissionRecord {
  readonly atWallMs: number
  readonly radio: number
  readonly priority: string
  /** without FCS */
  readonly octets: Uint8Array
  /** 'queued' as long as nothing else is known; 'unknown' when the process ended before that */
  readonly outcome: 'queued' | 'sent' | 'refused' | 'expired' | 'unknown'
  /** on the air, with its share of the preamble */
  readonly airtimeMs: number | undefined
  /** as in the events */
  readonly reference: string | undefined
  readonly reason: string | undefined
  /** the KISS client that wanted it sent; absent for the node's own */
  readonly client?: string | undefined
}

type EndedTransmission = Pick<TransmissionRecord, 'outcome' | 'airtimeMs' | 'reason'>

export interface TransmissionTable {
  /** gathered: on the disk within the flush interval */
  add(transmission: TransmissionRecord): void
  /** On the disk when this returns. @returns its number; undefined where it could not be written, which the store tells */
  begin(
    transmission: Pick<TransmissionRecord, 'atWallMs' | 'radio' | 'priority' | 'octets' | 'client'>,
  ): number | undefined
  /** gathered */
  end(id: number, ended: EndedTransmission): void
  /** Marks as 'unknown' what was begun and never ended. @returns what was */
  endUnfinished(reason: string): (TransmissionRecord & { readonly id: number })[]
  /** oldest first, the newest `limit` of them */
  query(filter?: { sinceWallMs?: number; limit?: number }): TransmissionRecord[]
}

interface TransmissionRow {
  id: number
  at_ms: number
  radio: number
  priority: string
  octets: Uint8Array
  outcome: TransmissionRecord['outcome']
  airtime_ms: number | null
  reference: string | null
  reason: string | null
  client: string | null
}

export function transmissionTable(database: Database, writer: Writer): TransmissionTable {
  return {
    add(transmission) {
      const { client } = transmission
      const values = [
        ...[transmission.atWallMs, transmission.radio, transmission.priority, transmission.octets],
        ...[transmission.outcome, wholeMs(transmission.airtimeMs)],
        ...[transmission.reference ?? null, transmission.reason ?? null],
      ]
      if (client === undefined) writer.later('transmission', values)
      else writer.later('clientTransmission', [...values, client])
    },
    begin({ atWallMs, radio, priority, octets, client }) {
      const result = writer.durably('keeping what a client wants sent', () =>
        database.run(
          `INSERT INTO transmissions (at_ms, radio, priority, octets, outcome, client)
           VALUES (?, ?, ?, ?, 'queued', ?)`,
          atWallMs,
          radio,
          priority,
          octets,
          client ?? null,
        ),
      )
      return result.ok ? result.value.lastId : undefined
    },
    end(id, { outcome, airtimeMs, reason }) {
      writer.later('transmissionEnd', [outcome, wholeMs(airtimeMs), reason ?? null, id])
    },
    endUnfinished(reason) {
      const rows = writer.reading('reading transmissions', [], () =>
        database.all<TransmissionRow>("SELECT * FROM transmissions WHERE outcome = 'queued'"),
      )
      if (rows.length > 0) writer.later('transmissionsUnknown', [reason, rows.at(-1)!.id])
      return rows.map((row) => ({ ...recordOf(row), id: row.id }))
    },
    query(filter = {}) {
      writer.settle()
      const rows = writer.reading('reading transmissions', [], () =>
        database.all<TransmissionRow>(
          'SELECT * FROM transmissions WHERE at_ms >= ? ORDER BY at_ms DESC, id DESC LIMIT ?',
          filter.sinceWallMs ?? 0,
          filter.limit ?? 1000,
        ),
      )
      return rows.reverse().map(recordOf)
    },
  }
}

/** People read these; a share of a preamble is no whole number. */
const wholeMs = (airtimeMs: number | undefined): number | null =>
  airtimeMs === undefined ? null : Math.round(airtimeMs)

const recordOf = (row: TransmissionRow): TransmissionRecord => ({
  atWallMs: row.at_ms,
  radio: row.radio,
  priority: row.priority,
  octets: new Uint8Array(row.octets),
  outcome: row.outcome,
  airtimeMs: row.airtime_ms ?? undefined,
  reference: row.reference ?? undefined,
  reason: row.reason ?? undefined,
  client: row.client ?? undefined,
})
