import type { Database } from './database.js'
import type { StationTable } from './stations.js'
import type { Writer } from './writer.js'

export interface RetentionOptions {
  /** frames, events, transmissions, ended questions and messages are kept so long */
  readonly keepDays: number
  /** stations not heard are kept so long */
  readonly keepStationsDays: number
  /** above this the oldest frames and events go, whatever their age */
  readonly sizeBytesMax: number
}

const dayMs = 86_400_000
/** Rows in one step: a step stays far below a second on an SD card. */
const rowsPerStep = 2_000
/** The size is looked at after each step; small ones keep as much as fits. */
const rowsPerStepForRoom = 500

/** Tables in the order in which they make room, with the condition that a row may go. */
const tables = [
  { name: 'frames', time: 'heard_ms', may: '1' },
  { name: 'events', time: 'at_ms', may: '1' },
  { name: 'transmissions', time: 'at_ms', may: '1' },
  { name: 'messages', time: 'created_ms', may: "state NOT IN ('waiting', 'parked')" },
  { name: 'questions', time: 'heard_ms', may: "state <> 'accepted'" },
  { name: 'mailbox', time: 'left_ms', may: "state NOT IN ('waiting', 'sending')" },
] as const

/**
 * Removes what is past its time or beyond the size cap, a step at a call.
 * @param nowWallMs undefined while the clock is not trusted: then nothing is past its time
 * @returns true when there is more to remove: call again soon
 */
export function pruneStep(
  database: Database,
  writer: Writer,
  stations: StationTable,
  options: RetentionOptions,
  nowWallMs: number | undefined,
): boolean {
  if (nowWallMs !== undefined) stations.forgetBefore(nowWallMs - options.keepStationsDays * dayMs)
  const result = writer.reading('removing what is old', 0, () =>
    database.transaction(false, () => {
      let removed = nowWallMs === undefined ? 0 : removeOld(database, options, nowWallMs)
      if (removed === 0 && usedBytes(database) > options.sizeBytesMax) removed = makeRoom(database)
      return removed
    }),
  )
  if (result > 0) {
    writer.reading('handing back room', 0, () => {
      database.all('PRAGMA incremental_vacuum(2000)')
      return 0
    })
  }
  return result > 0
}

function removeOld(database: Database, options: RetentionOptions, nowWallMs: number): number {
  const beforeMs = nowWallMs - options.keepDays * dayMs
  let removed = 0
  for (const { name, time, may } of tables) {
    removed += database.run(
      `DELETE FROM ${name} WHERE rowid IN
         (SELECT rowid FROM ${name} WHERE ${time} < ? AND ${may} ORDER BY ${time} LIMIT ${rowsPerStep})`,
      beforeMs,
    ).changes
  }
  const expired = 'DELETE FROM notices WHERE expires_ms < ? AND expiry_trusted = 1'
  return removed + database.run(expired, nowWallMs).changes
}

/** What the rows take, without pages that wait to be used again. */
export function usedBytes(database: Database): number {
  const pragma = (name: string): number =>
    Object.values(database.get<Record<string, number>>(`PRAGMA ${name}`) ?? {})[0] ?? 0
  return (pragma('page_count') - pragma('freelist_count')) * pragma('page_size')
}

function makeRoom(database: Database): number {
  let removed = 0
  for (const { name, time } of tables.slice(0, 3)) {
    removed += database.run(
      `DELETE FROM ${name} WHERE rowid IN (SELECT rowid FROM ${name} ORDER BY ${time} LIMIT ${rowsPerStepForRoom})`,
    ).changes
  }
  return removed
}
