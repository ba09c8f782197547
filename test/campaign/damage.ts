import { closeSync, existsSync, fstatSync, openSync, rmSync, writeSync } from 'node:fs'
import { type Random, seededRandom } from '../../src/runtime/random.js'
import { applicationId, migrations } from '../../src/store/schema.js'
import { openSqlite } from '../../src/store/sqliteDriver.js'

/*
 * What may have become of a database while nobody had it open.
 */

const oddValues = ["x'00ff80'", '-1', '1e300', "'\u{fffd}'", "''", "'[{'", '9007199254740993']

/** Rows that the program must take for what they are: not whole. */
export function damageRows(file: string, seed: number): void {
  const random = seededRandom(seed)
  const sqlite = openSqlite(file)
  try {
    const columns: Record<string, readonly string[]> = {
      messages: [
        'to_call',
        'text',
        'number',
        'state',
        'kind',
        'created_ms',
        'not_after_ms',
        'radio',
      ],
      questions: ['from_call', 'text', 'state', 'heard_ms', 'radio', 'addressee'],
      mailbox: ['from_call', 'to_call', 'text', 'state', 'left_ms', 'expires_ms', 'number'],
      stations: ['details', 'last_heard_ms'],
      events: ['text', 'kind', 'at_ms'],
      counters: ['value'],
    }
    for (let count = 0; count < 12; count++) {
      const table = pick(random, Object.keys(columns))
      const column = pick(random, columns[table]!)
      const order = table === 'counters' ? 'name' : 'rowid'
      const which = table === 'counters' ? 'name' : 'rowid'
      try {
        sqlite.exec(
          `UPDATE ${table} SET ${column} = ${pick(random, oddValues)}
           WHERE ${which} = (SELECT ${which} FROM ${table} ORDER BY ${order} DESC LIMIT 1 OFFSET ${Math.floor(random() * 5)})`,
        )
      } catch {
        // the schema itself forbids it
      }
    }
  } finally {
    sqlite.close()
  }
}

/** Some octets in the middle of the file are others. */
export function damageFile(file: string, seed: number): void {
  const random = seededRandom(seed)
  for (const suffix of ['-wal', '-shm']) rmSync(file + suffix, { force: true })
  // In a schedule that is being shortened there may be none.
  if (!existsSync(file)) return
  const descriptor = openSync(file, 'r+')
  try {
    const { size } = fstatSync(descriptor)
    for (let count = 0; count < 3; count++) {
      const junk = Buffer.from(Array.from({ length: 600 }, () => Math.floor(random() * 256)))
      writeSync(descriptor, junk, 0, junk.length, Math.floor(random() * Math.max(1, size - 700)))
    }
  } finally {
    closeSync(descriptor)
  }
}

/** A database of an earlier version, with something in it that was promised. */
export function makeOlder(file: string, seed: number, wallMs: number): void {
  const random = seededRandom(seed)
  for (const suffix of ['', '-wal', '-shm', '-heard'])
    rmSync(file + suffix, { recursive: true, force: true })
  const version = 1 + Math.floor(random() * (migrations.length - 1))
  const sqlite = openSqlite(file)
  try {
    sqlite.exec('PRAGMA journal_mode = WAL')
    for (const sql of migrations.slice(0, version)) sqlite.exec(sql)
    sqlite.exec(`PRAGMA application_id = ${applicationId}; PRAGMA user_version = ${version}`)
    sqlite.exec(
      `INSERT INTO mailbox (question_id, from_call, to_call, text, left_ms, expires_ms, state)
       VALUES ('old 1', 'Q6OLD-1', 'Q6OLD-2', 'from an older version', ${wallMs}, ${wallMs + 6e8}, 'waiting');
       INSERT INTO questions (from_call, addressee, number, text, radio, heard_ms, last_heard_ms, state)
       VALUES ('Q6OLD-3', 'Q0HUT-10', '77', 'help', 0, ${wallMs}, ${wallMs}, 'accepted');
       INSERT INTO messages (kind, to_call, number, text, radio, state, created_ms, not_after_ms)
       VALUES ('answer', 'Q6OLD-4', '9', 'an older answer', 0, 'waiting', ${wallMs}, ${wallMs + 6e5})`,
    )
  } finally {
    sqlite.close()
  }
}

const pick = <Value>(random: Random, values: readonly Value[]): Value =>
  values[Math.floor(random() * values.length)]!
