import type { Database } from './database.js'
import type { EventFilter, NodeEvent } from './events.js'
import type { SqlValue } from './sqliteDriver.js'

/*
 * Searches of the log. Each is led by one index, whose entries stand in the order of ids, which is the order in which things
 * happened: the newest thousand of a million are found without sorting or reading the others. Several stations or kinds are
 * several such searches, merged. Times only narrow the ids: after a step of the clock they may stand in any order.
 */

/** A search in ids from fromId to toId. */
export interface EventSearch {
  /** the next so many ids above this one, ascending */
  idsAfter(id: number, count: number): number[]
  /** where the newest so many begin; undefined for fewer: then at the beginning */
  newestFrom(count: number): number | undefined
  /** so many of each kind */
  countByKind(kinds: readonly string[]): Record<string, number>
  /** whether an event that is not in the database yet belongs to it */
  matches(event: NodeEvent): boolean
}

interface Arm {
  readonly condition: string
  readonly values: readonly SqlValue[]
}

/** @param lastId no event above it */
export function eventSearch(database: Database, filter: EventFilter, lastId: number): EventSearch {
  const stations = filter.station === undefined ? undefined : stationsOf(database, filter.station)
  const references =
    filter.reference === undefined ? undefined : referencesOf(database, filter.reference)
  const kinds = filter.kinds?.length ? filter.kinds : undefined
  const range = idRange(database, filter, lastId)
  const rest = restOf(filter, { stations, references, kinds })
  const arms = leadingArms({ stations, references, kinds }).map(({ condition, values }) => ({
    condition: `${condition} AND id > ? AND id <= ?${rest.condition}`,
    values,
  }))
  const select = (what: string, afterId: number, after: string, ...more: SqlValue[]): unknown[] => {
    if (arms.length === 0 || range === undefined) return []
    const sql = arms.map(({ condition }) => `SELECT ${what} FROM events WHERE ${condition}`)
    const values = arms.flatMap((arm) => [
      ...arm.values,
      Math.max(afterId, range.fromId - 1),
      range.toId,
      ...rest.values,
    ])
    return database.all(`${sql.join(' UNION ALL ')} ${after}`, ...values, ...more)
  }

  return {
    idsAfter: (id, count) =>
      (select('id', id, 'ORDER BY id LIMIT ?', count) as { id: number }[]).map((row) => row.id),
    newestFrom: (count) =>
      (select('id', 0, 'ORDER BY id DESC LIMIT 1 OFFSET ?', count - 1) as { id: number }[])[0]?.id,
    countByKind(all) {
      const counts = all.map(
        (_, index) => `count(*) FILTER (WHERE kind = '${all[index]}') AS k${index}`,
      )
      const found = select(counts.join(', '), 0, '') as Record<string, number>[]
      return Object.fromEntries(
        all.map((kind, index) => [
          kind,
          found.reduce((sum, row) => sum + (row[`k${index}`] ?? 0), 0),
        ]),
      )
    },
    matches: (event) =>
      event.atWallMs >= (filter.sinceWallMs ?? 0) &&
      event.atWallMs < (filter.untilWallMs ?? Number.POSITIVE_INFINITY) &&
      (filter.station === undefined || isStation(event.station, filter.station)) &&
      (references === undefined || references.includes(event.reference ?? '')) &&
      (kinds === undefined || kinds.includes(event.kind)) &&
      (filter.radio === undefined || filter.radio === event.radio),
  }
}

interface Wanted {
  readonly stations: readonly string[] | undefined
  readonly references: readonly string[] | undefined
  readonly kinds: readonly string[] | undefined
}

/** The index that leaves least to look at leads. */
function leadingArms({ stations, references, kinds }: Wanted): Arm[] {
  const each = (column: string, names: readonly string[]): Arm[] =>
    names.map((name) => ({ condition: `${column} = ?`, values: [name] }))
  if (references !== undefined) return each('reference', references)
  if (stations !== undefined) return each('station', stations)
  // Most of the log is 'heard', which has no index: they are found soon without.
  if (kinds !== undefined)
    return kinds.map((kind) =>
      kind === 'heard'
        ? { condition: "kind = 'heard'", values: [] }
        : { condition: "kind <> 'heard' AND kind = ?", values: [kind] },
    )
  return [{ condition: '1', values: [] }]
}

/** What does not lead is looked at row by row: the unary plus keeps its index out of it. */
function restOf(filter: EventFilter, { stations, references, kinds }: Wanted): Arm {
  const conditions: string[] = []
  const values: SqlValue[] = []
  const and = (condition: string, ...more: SqlValue[]): void => {
    conditions.push(` AND ${condition}`)
    values.push(...more)
  }
  const oneOf = (column: string, names: readonly string[]): void =>
    and(`+${column} IN (${names.map(() => '?').join(', ')})`, ...names)
  if (filter.sinceWallMs !== undefined) and('+at_ms >= ?', filter.sinceWallMs)
  if (filter.untilWallMs !== undefined) and('+at_ms < ?', filter.untilWallMs)
  if (filter.radio !== undefined) and('radio = ?', filter.radio)
  if (references !== undefined && stations !== undefined) oneOf('station', stations)
  if ((references ?? stations) !== undefined && kinds !== undefined) oneOf('kind', kinds)
  return { condition: conditions.join(''), values }
}

/** The ids between which the times lie; undefined when there are none. */
function idRange(
  database: Database,
  { sinceWallMs, untilWallMs, afterId }: EventFilter,
  lastId: number,
): { fromId: number; toId: number } | undefined {
  // Whoever follows the log is near its end already.
  if (afterId !== undefined) return { fromId: afterId + 1, toId: lastId }
  // Left to itself SQLite goes through the rows by id until one fits: nearly all of them for the last two hours.
  const idOf = (which: 'min' | 'max', condition: string, wallMs: number): number | null => {
    const outermost = database.get<{ id: number }>(
      `SELECT id FROM events WHERE id = (SELECT ${which}(id) FROM events) AND +${condition}`,
      wallMs,
    )
    if (outermost !== undefined) return outermost.id
    const sql = `SELECT ${which}(id) AS id FROM events INDEXED BY events_by_time WHERE ${condition}`
    return database.get<{ id: number | null }>(sql, wallMs)?.id ?? null
  }
  const first = sinceWallMs === undefined ? 1 : idOf('min', 'at_ms >= ?', sinceWallMs)
  const last = untilWallMs === undefined ? lastId : idOf('max', 'at_ms < ?', untilWallMs)
  if (first === null || last === null) return undefined
  return { fromId: first, toId: Math.min(last, lastId) }
}

const isStation = (station: string | undefined, wanted: string): boolean => {
  const call = wanted.toUpperCase()
  return station === call || (!call.includes('-') && station?.startsWith(`${call}-`) === true)
}

/** The stations of a call without SSID are looked up in the index, each by one step. */
function stationsOf(database: Database, call: string): string[] {
  const wanted = call.toUpperCase()
  const found = [wanted]
  if (wanted.includes('-')) return found
  // '.' follows '-' in ASCII: everything from 'N0CALL-' to there begins with the call and a hyphen
  for (let from = `${wanted}-`; ; ) {
    const next = database.get<{ station: string }>(
      'SELECT station FROM events WHERE station > ? AND station < ? ORDER BY station LIMIT 1',
      from,
      `${wanted}.`,
    )
    if (next === undefined || found.length === stationsMax) return found
    found.push(next.station)
    from = next.station
  }
}
const stationsMax = 50

/** With a question come the messages that answered it. */
function referencesOf(database: Database, reference: string): string[] {
  const question = /^Q(\d+)$/.exec(reference)?.[1]
  if (question === undefined) return [reference]
  const messages = database.all<{ id: number }>(
    'SELECT id FROM messages WHERE question_id = ? ORDER BY id',
    Number(question),
  )
  return [reference, ...messages.map(({ id }) => `M${id}`)]
}
