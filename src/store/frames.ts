import type { SignalQuality } from '../../dsp/modem/receivedFrame.js'
import type { Database } from './database.js'
import { packQuality, unpackQuality } from './packedQuality.js'
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
  /** only of this call sign */
  readonly source?: string | undefined
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
      writer.later('frame', [
        frame.heardAtWallMs,
        frame.radio,
        frame.source,
        frame.octets,
        frame.repairedBits,
        frame.detector,
        frame.quality === undefined ? null : JSON.stringify(packQuality(frame.quality)),
      ])
    },
    query(filter = {}) {
      writer.settle()
      return writer.reading('reading frames', [], () => queryFrames(database, filter))
    },
    countSince(wallMs) {
      writer.settle()
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

/** By time, which is the order of the index: after a step of the clock not the order of hearing. */
function queryFrames(database: Database, filter: FrameFilter): FrameRecord[] {
  const ofSource = filter.source === undefined ? '' : 'source = ? AND '
  const rows = database.all<FrameRow>(
    `SELECT * FROM frames WHERE ${ofSource}heard_ms >= ? AND heard_ms < ? ORDER BY heard_ms DESC, id DESC LIMIT ?`,
    ...(filter.source === undefined ? [] : [filter.source]),
    filter.sinceWallMs ?? 0,
    filter.untilWallMs ?? Number.MAX_SAFE_INTEGER,
    filter.limit ?? 1000,
  )
  return rows.reverse().map((row) => ({
    heardAtWallMs: row.heard_ms,
    radio: row.radio,
    source: row.source,
    octets: new Uint8Array(row.octets),
    repairedBits: row.repaired_bits,
    detector: row.detector,
    quality: row.quality === null ? undefined : qualityOf(row.quality),
  }))
}

/** Former versions kept the figures with their names. */
function qualityOf(text: string): SignalQuality | undefined {
  try {
    const kept = JSON.parse(text) as SignalQuality | null
    return Array.isArray(kept) ? unpackQuality(kept) : (kept ?? undefined)
  } catch {
    return undefined
  }
}
