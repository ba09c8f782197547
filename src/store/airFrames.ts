import type { Database } from './database.js'
import type { GatheredWrite } from './gatheredWrites.js'
import type { SqlValue } from './sqliteDriver.js'
import type { Writer } from './writer.js'

/** A frame that was on the air: heard, or sent by us. */
export interface AirFrame {
  readonly atWallMs: number
  readonly sent: boolean
  /** without FCS */
  readonly octets: Uint8Array
  /** of a heard frame */
  readonly repairedBits: number
}

interface Row {
  at_ms: number
  octets: Uint8Array
  bits: number
}

/**
 * All frames that were on the air from a time up to before another, oldest first, also what a running node has gathered and not
 * written yet. One that is brought into the tables meanwhile may come twice.
 */
export function airFrames(
  database: Database,
  writer: Writer,
  gathered: () => readonly GatheredWrite[],
): (fromWallMs: number, toWallMs: number) => AirFrame[] {
  return (fromWallMs, toWallMs) => {
    const waiting = gathered().flatMap(frameOfWrite)
    const rows = (sql: string): Row[] =>
      writer.reading('what was on the air', [], () => database.all<Row>(sql, fromWallMs, toWallMs))
    const frame =
      (sent: boolean) =>
      ({ at_ms: atWallMs, octets, bits: repairedBits }: Row): AirFrame => ({
        ...{ atWallMs, sent, octets: new Uint8Array(octets), repairedBits },
      })
    const heard = rows(
      'SELECT heard_ms AS at_ms, octets, repaired_bits AS bits FROM frames WHERE heard_ms >= ? AND heard_ms < ?',
    )
    const own = rows(
      "SELECT at_ms, octets, 0 AS bits FROM transmissions WHERE at_ms >= ? AND at_ms < ? AND outcome = 'sent'",
    )
    const inTime = ({ atWallMs }: AirFrame): boolean =>
      atWallMs >= fromWallMs && atWallMs < toWallMs
    return [...heard.map(frame(false)), ...own.map(frame(true)), ...waiting.filter(inTime)].sort(
      (a, b) => a.atWallMs - b.atWallMs,
    )
  }
}

function frameOfWrite({ name, values }: GatheredWrite): AirFrame[] {
  const octetsOf = (value: SqlValue | undefined): Uint8Array =>
    value instanceof Uint8Array ? new Uint8Array(value) : new Uint8Array()
  if (name === 'frame') {
    const [atWallMs, , , octets, bits] = values
    return [
      {
        ...{ atWallMs: Number(atWallMs), sent: false },
        ...{ octets: octetsOf(octets), repairedBits: Number(bits) },
      },
    ]
  }
  if (name !== 'transmission' || values[4] !== 'sent') return []
  return [
    {
      ...{ atWallMs: Number(values[0]), sent: true, octets: octetsOf(values[3]) },
      repairedBits: 0,
    },
  ]
}
