import type { SignalQuality } from '../../dsp/modem/receivedFrame.js'
import type { Database } from './database.js'
import { stationClause } from './events.js'
import type { Writer } from './writer.js'

/** A frame as it was heard. */
export interface FrameRecord {
  readonly heardAtWallMs: number
  readonly radio: number
  /** call sign with SSID; '' for a frame whose addresses could not be read */
  readonly source: string
  /** without FCS */
  readonly octets: Uint8Array
  readonly repairedBits: number
  readonly detector: string
  readonly quality?: SignalQuality | undefined
}

export interface FrameFilter {
  readonly sinceWallMs?: number | undefined
  readonly untilWallMs?: number | undefined
  readonly station?: string | undefined
  /** the newest so many; default 1000 */
  readonly limit?: number | undefined
}

export interface FrameTable {
  /** gathered: on the disk within the flush interval */
  add(frame: FrameRecord): void
  /** oldest first */
  query(filter?: FrameFilter): FrameRecord[]
  countSince(wallMs: number): number
}

interface FrameRow {
  heard_ms: number
  radio: number
  source: string
  octets: Uint8Array
  repaired_bits: number
  detector: string
  quality: string | null
}

export function frameTable(database: Database, writer: Writer): FrameTable {
  return {
    add(frame) {
      writer.later(() => {
        database.run(
          `INSERT INTO frames (heard_ms, radio, source, octets, repaired_bits, detector, quality)
           VALUES (?, ?, ?, ?, ?, ?, ?)`,
          frame.heardAtWallMs,
          frame.radio,
          frame.source,
          frame.octets,
          frame.repairedBits,
          frame.detector,
          frame.quality === undefined ? null : JSON.stringify(frame.quality),
        )
      })
    },
    query(filter = {}) {
      writer.flush()
      return writer.reading('reading frames', [], () => queryFrames(database, filter))
    },
    countSince(wallMs) {
      writer.flush()
      const count = writer.reading('counting frames', undefined, () =>
        database.get<{ count: number }>(
          'SELECT count(*) AS count FROM frames WHERE heard_ms >= ?',
          wallMs,
        ),
      )
      return count?.count ?? 0
    },
  }
}

function queryFrames(database: Database, filter: FrameFilter): FrameRecord[] {
  const station = filter.station === undefined ? undefined : stationClause('source', filter.station)
  const rows = database.all<FrameRow>(
    `SELECT * FROM frames WHERE heard_ms >= ? AND heard_ms < ? AND ${station?.clause ?? '1'}
     ORDER BY id DESC LIMIT ?`,
    filter.sinceWallMs ?? 0,
    filter.untilWallMs ?? Number.MAX_SAFE_INTEGER,
    ...(station?.values ?? []),
    filter.limit ?? 1000,
  )
  return rows.reverse().map((row) => ({
    heardAtWallMs: row.heard_ms,
    radio: row.radio,
    source: row.source,
    octets: new Uint8Array(row.octets),
    repairedBits: row.repaired_bits,
    detector: row.detector,
    quality: row.quality === null ? undefined : (JSON.parse(row.quality) as SignalQuality),
  }))
}
