import type { Database } from './database.js'
import { databaseFaultKind } from './databaseFault.js'
import type { GatherFile, GatherRecord } from './gatherFile.js'
import type { SqlValue } from './sqliteDriver.js'
import type { Hearing } from './stations.js'

/** What may wait: a loss of its last half minute with the power harms nobody. */
const statements = {
  event:
    'INSERT INTO events (at_ms, kind, radio, station, reference, text, reason) VALUES (?, ?, ?, ?, ?, ?, ?)',
  frame: `INSERT INTO frames (heard_ms, radio, source, octets, repaired_bits, detector, quality)
    VALUES (?, ?, ?, ?, ?, ?, ?)`,
  transmission: `INSERT INTO transmissions (at_ms, radio, priority, octets, outcome, airtime_ms, reference, reason)
    VALUES (?, ?, ?, ?, ?, ?, ?, ?)`,
  clientTransmission: `INSERT INTO transmissions
    (at_ms, radio, priority, octets, outcome, airtime_ms, reference, reason, client)
    VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`,
  transmissionEnd: 'UPDATE transmissions SET outcome = ?, airtime_ms = ?, reason = ? WHERE id = ?',
  transmissionsUnknown:
    "UPDATE transmissions SET outcome = 'unknown', reason = ? WHERE outcome = 'queued' AND id <= ?",
  keying: 'INSERT INTO keyings (at_ms, radio, duration_ms) VALUES (?, ?, ?)',
  attempt: 'UPDATE messages SET attempts = attempts + 1 WHERE id = ?',
  heardAgain: 'UPDATE questions SET last_heard_ms = ? WHERE id = ?',
  forgetStation: 'DELETE FROM stations WHERE call = ?',
} as const
export type GatheredName = keyof typeof statements

export interface GatheredWrite {
  readonly name: GatheredName
  readonly values: readonly SqlValue[]
  /** called when it is in the database */
  readonly done?: (() => void) | undefined
}

/**
 * Runs them in their order, in the caller's transaction.
 * @returns how many were refused for what they hold: they would be refused again, and must not keep the others waiting
 * @throws what is not one write's fault
 */
export function runGathered(database: Database, writes: readonly GatheredWrite[]): number {
  let refused = 0
  for (const { name, values } of writes)
    try {
      // another version may have gathered what this one does not know
      if (name in statements) database.run(statements[name], ...values)
      else refused++
    } catch (error) {
      if (databaseFaultKind(error) !== 'other') throw error
      refused++
    }
  return refused
}

/** What a record of the gathering file holds. */
export interface Gathered {
  /** so many writes were gathered before these, ever */
  readonly firstWrite: number
  readonly writes: readonly GatheredWrite[]
  /** for the stations: their rows are written less often */
  readonly hearings: readonly Hearing[]
}

type Packed = string | number | null | { readonly base64: string }

export function packGathered({ firstWrite, writes, hearings }: Gathered): string {
  const pack = (value: SqlValue): Packed => {
    if (value instanceof Uint8Array) return { base64: Buffer.from(value).toString('base64') }
    return typeof value === 'bigint' ? Number(value) : value
  }
  return JSON.stringify({
    firstWrite,
    writes: writes.map(({ name, values }) => [name, ...values.map(pack)]),
    hearings,
  })
}

/** The writes of each record of the gathering file, from one on. @throws Error where it cannot be read */
export function* writesInFile(
  file: GatherFile | undefined,
  fromRecord: number,
): Generator<readonly GatheredWrite[]> {
  for (const record of file?.recordsFrom(fromRecord) ?? []) yield unpackGathered(record).writes
}

/** What was packed. */
export function unpackGathered({ text }: GatherRecord): Gathered {
  const { firstWrite, writes, hearings } = JSON.parse(text) as {
    firstWrite: number
    writes: [GatheredName, ...Packed[]][]
    hearings: Hearing[]
  }
  const unpack = (value: Packed): SqlValue =>
    typeof value === 'object' && value !== null
      ? new Uint8Array(Buffer.from(value.base64, 'base64'))
      : value
  return {
    firstWrite,
    writes: writes.map(([name, ...values]) => ({ name, values: values.map(unpack) })),
    hearings,
  }
}
