import type { Cancel, Clock } from '../runtime/clock.js'
import type { ClockTrust } from '../runtime/clockTrust.js'
import type { Database } from './database.js'
import type { StationTable } from './stations.js'
import type { Writer } from './writer.js'

export interface RetentionOptions {
  /** frames, events, transmissions, ended questions and messages are kept so long */
  readonly keepMs: number
  /** stations not heard are kept so long */
  readonly keepStationsMs: number
  /** above this the oldest of everything goes, whatever its age, but for the last day */
  readonly sizeBytesMax: number
}

const hourMs = 3_600_000
const dayMs = 24 * hourMs
/** What was heard, asked and sent in this time stays, whatever room it takes. */
const floorMs = dayMs
/** What makes room goes by slices of this length, the oldest of every kind together. */
const sliceMs = hourMs
/** Rows of all tables in one step: some 20 ms here, a fraction of a second on an SD card. */
const rowsPerStep = 1_000
const pagesHandedBack = 200

/** Tables whose rows age, with their time, which has an index, and the condition that a row may go. */
const tables = [
  { name: 'frames', time: 'heard_ms', may: '1' },
  { name: 'events', time: 'at_ms', may: '1' },
  { name: 'transmissions', time: 'at_ms', may: '1' },
  { name: 'keyings', time: 'at_ms', may: '1' },
  { name: 'messages', time: 'created_ms', may: "state NOT IN ('waiting', 'parked')" },
  { name: 'questions', time: 'heard_ms', may: "state <> 'accepted'" },
  { name: 'mailbox', time: 'left_ms', may: "state NOT IN ('waiting', 'sending')" },
  { name: 'emails', time: 'left_ms', may: "state <> 'waiting'" },
  { name: 'emails_taken', time: 'at_ms', may: '1' },
] as const

/** Rows that go at a time of their own, and how many in one step: a letter may have 50 kB. */
const expiringTables = [
  { name: 'notices', rows: rowsPerStep },
  { name: 'letters', rows: 100 },
] as const

export interface RetentionParts {
  readonly database: Database
  readonly writer: Writer
  readonly stations: StationTable
  readonly clock: Clock
  /** nothing is past its time while the clock is not trusted */
  readonly trust: ClockTrust
  readonly options: RetentionOptions
}

/** The first look is soon after the start: what is old may have waited long while the node was off. */
const firstLookMs = hourMs
const roomEveryMs = hourMs
/** Old rows of a day go together: a card is spared the pages that they share. */
const oldEveryMs = dayMs
const stepPauseMs = 2_000

/** Looks each hour whether room must be made, and each day for what is past its time. */
export function startRetention(parts: RetentionParts): Cancel {
  const { clock, trust } = parts
  let oldAtMs = clock.monotonicMs()
  let isBroughtIn = false
  let cancel: Cancel = () => {}
  const bookIn = (ms: number): void => {
    cancel = clock.at(clock.monotonicMs() + ms, look)
  }
  /** Once a day: what is gathered grows old, too. */
  const isBringingIn = (): boolean => {
    if (!isBroughtIn && parts.writer.pendingCount > 0) parts.writer.beginCheckpoint()
    isBroughtIn = true
    return parts.writer.isCheckpointing
  }
  const look = (): void => {
    const isDue = clock.monotonicMs() >= oldAtMs && trust.trusted()
    if (isDue && (isBringingIn() || removeOldStep(parts, clock.wallMs()))) {
      bookIn(stepPauseMs)
      return
    }
    if (isDue) {
      oldAtMs = clock.monotonicMs() + oldEveryMs
      isBroughtIn = false
    }
    bookIn(makeRoomStep(parts, clock.wallMs()) ? stepPauseMs : roomEveryMs)
  }
  bookIn(firstLookMs)
  return () => cancel()
}

/**
 * Removes what is past its time, a step at a call.
 * @returns true when there is more to remove: call again soon
 */
function removeOldStep(
  { database, writer, stations, options }: RetentionParts,
  nowWallMs: number,
): boolean {
  if (stations.forgetBefore(nowWallMs - options.keepStationsMs, rowsPerStep) > 0) return true
  return step(database, writer, () => {
    const removed = removeBefore(database, nowWallMs - options.keepMs, rowsPerStep)
    return removed + removeExpired(database, nowWallMs, rowsPerStep - removed)
  })
}

/**
 * Where the rows take more than they may: removes the oldest slice of time of every kind, a step at a call. The last day
 * stays, and so do stations heard in it.
 * @param nowWallMs by the node's clock, be it right or wrong: what lies ahead of it stays
 * @returns true when there is more to remove: call again soon
 */
function makeRoomStep(
  { database, writer, stations, options }: RetentionParts,
  nowWallMs: number,
): boolean {
  // What is gathered stays so while there is room: brought in each hour, it would cost a card what gathering spares it.
  const isTooLarge = writer.reading(
    'how large the database is',
    false,
    () => usedBytes(database) > options.sizeBytesMax,
  )
  if (!isTooLarge) return false
  if (writer.settleStep()) return true
  return step(database, writer, () => {
    if (usedBytes(database) <= options.sizeBytesMax) return 0
    const oldestMs = oldestOfAll(database, stations)
    const beforeMs = Math.min(oldestMs + sliceMs, nowWallMs - floorMs)
    if (oldestMs >= beforeMs) return 0
    const removed = removeBefore(database, beforeMs, rowsPerStep)
    return removed + stations.forgetBefore(beforeMs, rowsPerStep - removed)
  })
}

/** @returns true when something was removed */
function step(database: Database, writer: Writer, remove: () => number): boolean {
  const removed = writer.reading('removing what is old', 0, () =>
    database.transaction(false, remove),
  )
  if (removed > 0)
    writer.reading('handing back room', undefined, () => {
      database.all(`PRAGMA incremental_vacuum(${pagesHandedBack})`)
    })
  return removed > 0
}

function removeBefore(database: Database, beforeMs: number, countMax: number): number {
  let removed = 0
  for (const { name, time, may } of tables) {
    if (removed >= countMax) break
    removed += database.run(
      `DELETE FROM ${name} WHERE rowid IN
         (SELECT rowid FROM ${name} WHERE ${time} < ? AND ${may} ORDER BY ${time} LIMIT ?)`,
      beforeMs,
      countMax - removed,
    ).changes
  }
  return removed
}

function removeExpired(database: Database, nowWallMs: number, countMax: number): number {
  let removed = 0
  for (const { name, rows } of expiringTables)
    removed += database.run(
      `DELETE FROM ${name} WHERE id IN
         (SELECT id FROM ${name} WHERE expires_ms < ? AND +expiry_trusted = 1 ORDER BY expires_ms LIMIT ?)`,
      nowWallMs,
      Math.max(0, Math.min(rows, countMax - removed)),
    ).changes
  return removed
}

/** The time of the oldest row that may go, of any kind; Infinity for none. */
function oldestOfAll(database: Database, stations: StationTable): number {
  const times = tables.map(
    ({ name, time, may }) =>
      database.get<{ atMs: number }>(
        `SELECT ${time} AS atMs FROM ${name} WHERE ${may} ORDER BY ${time} LIMIT 1`,
      )?.atMs ?? Number.POSITIVE_INFINITY,
  )
  return Math.min(...times, stations.oldestMs)
}

/** What the rows take, without pages that wait to be used again. */
export function usedBytes(database: Database): number {
  const pragma = (name: string): number =>
    Object.values(database.get<Record<string, number>>(`PRAGMA ${name}`) ?? {})[0] ?? 0
  return (pragma('page_count') - pragma('freelist_count')) * pragma('page_size')
}
