import { statSync } from 'node:fs'
import { Failure } from '../runtime/failure.js'
import { databaseFaultKind } from './databaseFault.js'
import type { Sqlite, SqlValue } from './sqliteDriver.js'

/** Which file a name stands for; undefined when there is none. It is looked at before each durable commit. */
export function fileIdentity(file: string): string | undefined {
  const found = statSync(file, { bigint: true, throwIfNoEntry: false })
  return found && `${found.dev} ${found.ino}`
}

/** What has been promised on the air, and what clients want sent, by table. */
const promised: Readonly<Record<string, string>> = {
  questions:
    "state = 'accepted' OR id IN (SELECT question_id FROM messages WHERE state IN ('waiting', 'parked'))",
  messages: "state IN ('waiting', 'parked')",
  mailbox: "state IN ('waiting', 'sending')",
  notices: '1',
  letters: '1',
  emails: "state = 'waiting'",
  emails_taken: '1',
  email_names: '1',
  transmissions: "outcome = 'queued'",
}

/**
 * Brings what was promised, and numbers that must not come again, from a file that has lost its name into the one that
 * has it now. @returns how many rows
 */
export function carryOver(former: Sqlite, present: Sqlite): number {
  let count = 0
  present.exec('PRAGMA synchronous = FULL')
  present.exec('BEGIN IMMEDIATE')
  try {
    for (const [table, condition] of Object.entries(promised)) {
      const ids = former.all<{ id: number }>(`SELECT id FROM ${table} WHERE ${condition}`)
      for (const { id } of ids) if (carryRow(former, present, table, id)) count++
    }
    count += carryServiceData(former, present)
    for (const { name, value } of former.all<{ name: string; value: number }>(
      `SELECT name, value FROM counters WHERE typeof(value) = 'integer' AND value BETWEEN 0 AND ${Number.MAX_SAFE_INTEGER}`,
    ))
      present.run(
        `INSERT INTO counters (name, value) VALUES (?, ?)
         ON CONFLICT (name) DO UPDATE SET value = max(value, excluded.value)`,
        name,
        value,
      )
    for (const { name, seq } of former.all<{ name: string; seq: number }>(
      'SELECT name, seq FROM sqlite_sequence',
    )) {
      const known = present.get<{ seq: number }>(
        'SELECT seq FROM sqlite_sequence WHERE name = ?',
        name,
      )
      if (known === undefined)
        present.run('INSERT INTO sqlite_sequence (name, seq) VALUES (?, ?)', name, seq)
      else if (known.seq < seq)
        present.run('UPDATE sqlite_sequence SET seq = ? WHERE name = ?', seq, name)
    }
    present.exec('COMMIT')
    return count
  } catch (error) {
    present.exec('ROLLBACK')
    throw error
  }
}

/** What own services keep has no number of its own. */
function carryServiceData(former: Sqlite, present: Sqlite): number {
  let count = 0
  const names = former.all<{ service: string; key: string }>(
    'SELECT service, key FROM service_data',
  )
  for (const { service, key } of names) {
    const where = 'FROM service_data WHERE service = ? AND key = ?'
    const row = former.get<{ value: SqlValue }>(`SELECT value ${where}`, service, key)
    if (row === undefined) continue
    const into = 'INSERT OR REPLACE INTO service_data (service, key, value) VALUES (?, ?, ?)'
    present.run(into, service, key, row.value)
    count++
  }
  return count
}

/** @returns false for a row that is damaged: it stays behind, and keeps none of the others */
function carryRow(former: Sqlite, present: Sqlite, table: string, id: number): boolean {
  try {
    const row = former.get<Record<string, SqlValue>>(`SELECT * FROM ${table} WHERE id = ?`, id)
    if (row === undefined) return false
    const columns = Object.keys(row)
    const marks = columns.map(() => '?').join(', ')
    const into = `INSERT OR REPLACE INTO ${table} (${columns.join(', ')}) VALUES (${marks})`
    present.run(into, ...Object.values(row))
    return true
  } catch (error) {
    if (databaseFaultKind(error) === 'other') return false
    throw error
  }
}

export const replacedFailure = (file: string, count: number): Failure =>
  new Failure({
    code: 'store-replaced',
    subject: file,
    got: 'another file, or none, where the database was',
    expected: 'the same file as long as the node runs',
    advice: `it was opened anew, with the ${count} questions, messages, letters and other entries that must not be lost; stop the node before the database is moved or restored`,
  })
