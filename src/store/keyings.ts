import type { Database } from './database.js'
import type { GatheredWrite } from './gatheredWrites.js'
import type { Writer } from './writer.js'

/** The key line of a radio was on: frames, identifications and test tones alike. */
export interface Keying {
  /** when it went on */
  readonly atWallMs: number
  readonly radio: number
  /** of the key line, by the clock that nobody sets */
  readonly durationMs: number
}

export interface KeyingTable {
  /** gathered: on the disk within the flush interval */
  add(keying: Keying): void
  /** Those that began in that time, oldest first. */
  between(fromWallMs: number, toWallMs: number): Keying[]
  /** when the first that is kept began: nothing is known of what was before */
  readonly firstWallMs: number | undefined
}

/** @param gathered what another process has gathered, and not written yet */
export function keyingTable(
  database: Database,
  writer: Writer,
  gathered: () => readonly GatheredWrite[] = () => [],
): KeyingTable {
  const isKeying = ({ name }: GatheredWrite): boolean => name === 'keying'
  return {
    get firstWallMs() {
      writer.settle()
      const waiting = gathered().find(isKeying)
      const row = writer.reading('what was sent', undefined, () =>
        database.get<{ at_ms: number }>('SELECT at_ms FROM keyings ORDER BY at_ms LIMIT 1'),
      )
      return row?.at_ms ?? (waiting && Number(waiting.values[0]))
    },
    add: ({ atWallMs, radio, durationMs }) =>
      writer.later('keying', [atWallMs, radio, Math.round(durationMs)]),
    between(fromWallMs, toWallMs) {
      writer.settle()
      // These first: what is brought into the database meanwhile is found there, too, and not twice.
      const waiting = gathered().filter(isKeying)
      const rows = writer.reading('what was sent', [], () =>
        database.all<{ at_ms: number; radio: number; duration_ms: number }>(
          'SELECT * FROM keyings WHERE at_ms >= ? AND at_ms < ? ORDER BY at_ms',
          fromWallMs,
          toWallMs,
        ),
      )
      const known = new Set(rows.map(({ at_ms, radio }) => `${at_ms} ${radio}`))
      const written = rows.map(({ at_ms: atWallMs, radio, duration_ms: durationMs }) => ({
        ...{ atWallMs, radio, durationMs },
      }))
      const others = waiting.map(({ values }): Keying => {
        const [atWallMs = 0, radio = 0, durationMs = 0] = values.map(Number)
        return { atWallMs, radio, durationMs }
      })
      const inTime = ({ atWallMs, radio }: Keying): boolean =>
        atWallMs >= fromWallMs && atWallMs < toWallMs && !known.has(`${atWallMs} ${radio}`)
      return [...written, ...others.filter(inTime)].sort((a, b) => a.atWallMs - b.atWallMs)
    },
  }
}
