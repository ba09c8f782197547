import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { backupDatabase } from '../../src/store/backup.js'
import { migrations } from '../../src/store/schema.js'
import { openSqlite } from '../../src/store/sqliteDriver.js'
import { openTestStore, temporaryFile } from './openTestStore.js'

const readme = readFileSync(join(import.meta.dirname, '../../README.md'), 'utf8')
const quality = {
  ...{ levelDbfs: -18.2, toneBalanceDb: 1.5, toneOffsetHz: -12, symbolRateErrorPpm: 40 },
  ...{ ebN0Db: 14.3, eyeOpening: 0.62, clippedShare: 0, preambleFlags: 31 },
}

/** A node's day as a copy of its database has it, made while the node runs. */
async function copyOfADay() {
  const file = temporaryFile()
  const { store, clock } = openTestStore(file)
  const atWallMs = clock.wallMs()
  const frame = { radio: 1, octets: Uint8Array.of(1, 2, 255), repairedBits: 1, detector: 'test' }
  store.frames.add({ ...frame, heardAtWallMs: atWallMs, source: 'Q1ABC-7', quality })
  store.frames.add({ ...frame, heardAtWallMs: atWallMs + 1, source: 'Q2ABC' })
  const asked = store.durably('a test', () => {
    const question = store.questions.insert({
      ...{ from: 'Q1ABC-7', addressee: 'Q7RDG-10', number: '1', text: 'repeaters 2', radio: 1 },
      ...{ heardWallMs: atWallMs, ownPart: 'abc' },
    })
    store.questions.insert({
      ...{ from: 'Q2ABC', addressee: 'Q7RDG-10', number: '2', text: "help'; --", radio: 1 },
      ...{ heardWallMs: atWallMs, ownPart: 'abd' },
    })
    for (const text of ['first part', 'second part']) {
      const message = store.messages.insert({
        ...{ kind: 'answer', to: 'Q1ABC-7', number: undefined, replyTo: undefined, text },
        ...{ questionId: question.id, mailboxId: undefined, radio: 1, state: 'waiting' },
        ...{ createdWallMs: atWallMs, notAfterWallMs: atWallMs + 60_000 },
      })
      store.messages.noteAttempt(message.id)
      if (text === 'first part') store.messages.end(message.id, 'acknowledged', atWallMs + 5)
    }
    store.questions.end(question.id, 'answered', atWallMs + 9)
  })
  expect(asked.ok).toBe(true)
  store.transmissions.add({
    ...{ atWallMs, radio: 1, priority: 'answer', octets: Uint8Array.of(9), outcome: 'sent' },
    ...{ airtimeMs: 905.3333, reference: 'm1', reason: undefined },
  })
  const copy = temporaryFile('copy.db')
  // What is gathered is in the file beside the database by then.
  clock.advanceBy(60_000)
  await backupDatabase(file, copy, { clock: virtualClock() })
  store.close()
  return { copy, atWallMs }
}

describe('the views for scripts of others', () => {
  it('have what the tables have, under the names that README gives', async () => {
    const { copy, atWallMs } = await copyOfADay()
    const sqlite = openSqlite(copy, { readOnly: true })
    const utc = new Date(atWallMs).toISOString()
    const frames = sqlite.all<Record<string, unknown>>('SELECT * FROM v_frames ORDER BY id')
    expect({ ...frames[0] }).toEqual({
      ...{ id: 1, heard_ms: atWallMs, heard_utc: utc, radio: 1, source: 'Q1ABC-7' },
      ...{ octet_count: 3, octets_hex: '0102FF', repaired_bits: 1, detector: 'test' },
      ...{ level_dbfs: -18.2, tone_balance_db: 1.5, tone_offset_hz: -12 },
      ...{ symbol_rate_error_ppm: 40, eb_n0_db: 14.3, eye_opening: 0.62, clipped_share: 0 },
      preamble_flags: 31,
    })
    expect(frames[1]).toMatchObject({ source: 'Q2ABC', level_dbfs: null, preamble_flags: null })
    const conversations = sqlite.all('SELECT * FROM v_conversations ORDER BY id')
    expect(conversations).toMatchObject([
      {
        ...{ asked_utc: utc, from_call: 'Q1ABC-7', question: 'repeaters 2', state: 'answered' },
        ...{ answer: 'first part / second part', message_count: 2, attempt_count: 2 },
        acknowledged_count: 1,
      },
      {
        question: "help'; --",
        state: 'accepted',
        answer: null,
        message_count: 0,
        attempt_count: 0,
      },
    ])
    expect(sqlite.all('SELECT * FROM v_transmissions')).toMatchObject([
      { at_utc: utc, priority: 'answer', outcome: 'sent', airtime_ms: 905, octets_hex: '09' },
    ])
    for (const [, view, named] of readme.matchAll(/^\| `(v_\w+)` \|[^|]*\| (.*) \|$/gm)) {
      const columns = sqlite.all<{ name: string }>(`PRAGMA table_info(${view})`)
      expect(columns.map(({ name }) => `\`${name}\``).join(', '), view).toBe(named)
    }
    sqlite.close()
  })

  it('answer the examples of README', async () => {
    const { copy } = await copyOfADay()
    const sqlite = openSqlite(copy, { readOnly: true })
    const [block] = [...readme.matchAll(/```sql\n([\s\S]*?)```/g)].map(([, text]) => text!)
    const [heard, notAnswered, airtime] = block!
      .split(/;\n/)
      .filter((text) => text.trim() !== '')
      // The days of the test are others than those of who runs it.
      .map((text) => sqlite.all(text.replace('unixepoch()', '0')))
    expect(heard).toMatchObject([
      { source: 'Q1ABC-7', frames: 1, eb_n0_db: 14.3, tone_balance_db: 1.5 },
      { source: 'Q2ABC', frames: 1, eb_n0_db: null },
    ])
    expect(notAnswered).toMatchObject([{ from_call: 'Q2ABC', state: 'accepted' }])
    expect(airtime).toMatchObject([{ seconds: 0.9 }])
    sqlite.close()
  })

  it('read figures as former versions kept them, and none where they are damaged', () => {
    const sqlite = openSqlite(':memory:')
    for (const sql of migrations) sqlite.exec(sql)
    const add = (text: string | null) =>
      sqlite.run(
        `INSERT INTO frames (heard_ms, radio, source, octets, repaired_bits, detector, quality)
         VALUES ('no time', 0, '', x'', 0, '', ?)`,
        text,
      )
    for (const text of [JSON.stringify(quality), '{', '[]', '7', null]) add(text)
    const rows = sqlite.all<{ eb_n0_db: unknown }>('SELECT * FROM v_frames ORDER BY id')
    expect(rows.map((row) => row.eb_n0_db)).toEqual([14.3, null, null, null, null])
    sqlite.close()
  })

  it('take the place of views that somebody had made under these names', () => {
    const sqlite = openSqlite(':memory:')
    const at = migrations.findIndex((sql) => sql.includes('CREATE VIEW v_frames'))
    for (const sql of migrations.slice(0, at)) sqlite.exec(sql)
    sqlite.exec('CREATE VIEW v_frames AS SELECT 1 AS mine')
    for (const sql of migrations.slice(at)) sqlite.exec(sql)
    expect(sqlite.all('SELECT source FROM v_frames')).toEqual([])
    sqlite.close()
  })
})
