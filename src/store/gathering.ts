import type { Failure } from '../runtime/failure.js'
import { virtualClock } from '../runtime/virtualClock.js'
import type { Database } from './database.js'
import { databaseFailure } from './databaseFault.js'
import type { EventKind, NodeEvent } from './events.js'
import { takenCounters } from './gatheredStorage.js'
import { type Gathered, type GatheredWrite, unpackGathered } from './gatheredWrites.js'
import {
  type GatherFile,
  type GatherRecord,
  gatheredReader,
  gatherFileOf,
  openGatherFile,
} from './gatherFile.js'
import { rowReader } from './rows.js'
import type { SqlValue } from './sqliteDriver.js'
import { type Hearing, type StationTable, stationTable } from './stations.js'
import { createWriter, type Writer } from './writer.js'

/** The database's gathering file; undefined where there can be none, and what is gathered goes into the database. */
export function gatherFileBeside(
  database: Database,
  onFault: (failure: Failure) => void,
): GatherFile | undefined {
  if (database.file === ':memory:') return undefined
  const name = gatherFileOf(database.file)
  const tell = (error: unknown): void =>
    onFault(databaseFailure(name, 'keeping what was heard', error))
  try {
    return openGatherFile(name, { takenNumber: taken(database).hearings, onFault: tell })
  } catch (error) {
    tell(error)
    return undefined
  }
}

/** What of these records is not in the database yet: after a crash, or while the node runs. */
function untaken(
  records: readonly GatherRecord[],
  taken: Taken,
  unpack: (record: GatherRecord) => Gathered = unpackGathered,
): { writes: GatheredWrite[]; hearings: Hearing[] } {
  const writes: GatheredWrite[] = []
  const hearings: Hearing[] = []
  for (const record of records) {
    const gathered = unpack(record)
    const before = Math.max(0, taken.writes - gathered.firstWrite)
    writes.push(...gathered.writes.slice(before))
    if (record.number > taken.hearings) hearings.push(...gathered.hearings)
  }
  return { writes, hearings }
}

/** Brings into the database what a former process had gathered and not put there. */
export function takeGathered(
  database: Database,
  writer: Writer,
  stations: StationTable,
  records: readonly GatherRecord[],
): void {
  const above = writer.reading('what was gathered', undefined, () => taken(database))
  if (above === undefined) return
  const { writes, hearings } = untaken(records, above)
  for (const hearing of hearings) stations.takeAgain(hearing)
  writer.takeBack(writes, above.writes)
  if (records.length > 0) writer.checkpoint()
}

interface Taken {
  /** so many of all writes that were ever gathered */
  readonly writes: number
  /** records up to this number */
  readonly hearings: number
}

/** A count that is damaged is none: what was taken already is taken once more, and from then on it counts again. */
function taken(database: Database): Taken {
  const value = (name: string): number =>
    database.get<{ value: number }>(
      `SELECT value FROM counters
       WHERE name = ? AND typeof(value) = 'integer' AND value BETWEEN 0 AND ${Number.MAX_SAFE_INTEGER}`,
      name,
    )?.value ?? 0
  return { writes: value(takenCounters.writes), hearings: value(takenCounters.hearings) }
}

/** The same for a copy of a database that nobody has open. @throws the driver's error */
export function takeGatheredInto(database: Database, records: readonly GatherRecord[]): void {
  const onFault = (failure: Failure): never => {
    throw failure
  }
  const clock = virtualClock()
  const writer = createWriter(database, {
    clock,
    onFault,
    flushIntervalMs: Number.MAX_SAFE_INTEGER,
    pendingMax: Number.MAX_SAFE_INTEGER,
  })
  const { wallMs } = clock
  const stationsMax = Number.POSITIVE_INFINITY
  const stations = stationTable(
    database,
    writer,
    rowReader(database, () => {}),
    { stationsMax, wallMs },
  )
  takeGathered(database, writer, stations, records)
}

/** What a running node has heard that is not in its database yet. */
export interface GatheredElsewhere {
  readonly hearings: readonly Hearing[]
  readonly events: readonly NodeEvent[]
  readonly writes: readonly GatheredWrite[]
  /** number of the newest event that is in the database */
  readonly lastId: number
}

/** For another process, as of each call; it may be a day's, so what was read and taken apart once is kept. */
export function gatheredElsewhere(database: Database): () => GatheredElsewhere {
  const recordsAbove = gatheredReader(gatherFileOf(database.file))
  const unpacked = new WeakMap<GatherRecord, Gathered>()
  const unpack = (record: GatherRecord): Gathered => {
    const gathered = unpacked.get(record) ?? unpackGathered(record)
    unpacked.set(record, gathered)
    return gathered
  }
  let former: (GatheredElsewhere & TakenState & { records: readonly GatherRecord[] }) | undefined
  return () => {
    // The file first: what is brought into the database meanwhile is left out then.
    const records = recordsAbove(taken(database).hearings)
    const state = takenState(database)
    const isSame =
      former !== undefined &&
      former.records === records &&
      former.lastId === state.lastId &&
      former.takenWrites === state.takenWrites &&
      former.takenHearings === state.takenHearings
    if (former !== undefined && isSame) return former
    const above = { writes: state.takenWrites, hearings: state.takenHearings }
    const { writes, hearings } = untaken(records, above, unpack)
    former = { ...state, records, hearings, writes, events: writes.flatMap(eventOfWrite) }
    return former
  }
}

interface TakenState {
  readonly lastId: number
  readonly takenWrites: number
  readonly takenHearings: number
}

/** In one statement: of one moment. */
function takenState(database: Database): TakenState {
  const state = database.get<{
    lastId: number | null
    writes: number | null
    hearings: number | null
  }>(
    `SELECT (SELECT max(id) FROM events) AS lastId,
       (SELECT value FROM counters WHERE name = ?) AS writes,
       (SELECT value FROM counters WHERE name = ?) AS hearings`,
    takenCounters.writes,
    takenCounters.hearings,
  )
  return {
    lastId: state?.lastId ?? 0,
    takenWrites: state?.writes ?? 0,
    takenHearings: state?.hearings ?? 0,
  }
}

function eventOfWrite({ name, values }: GatheredWrite): NodeEvent[] {
  if (name !== 'event') return []
  const [atWallMs, kind, radio, station, reference, text, reason] = values
  const given = (value: SqlValue | undefined): string | undefined =>
    typeof value === 'string' ? value : undefined
  return [
    {
      atWallMs: Number(atWallMs),
      kind: kind as EventKind,
      radio: typeof radio === 'number' ? radio : undefined,
      station: given(station),
      reference: given(reference),
      text: given(text) ?? '',
      reason: given(reason),
    },
  ]
}
