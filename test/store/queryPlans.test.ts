import { describe, expect, it, vi } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { openStoreReader } from '../../src/store/readOnly.js'
import { openSqlite, type Sqlite } from '../../src/store/sqliteDriver.js'
import type { SqliteStatement } from '../../src/store/sqliteModule.js'
import { openStore } from '../../src/store/store.js'
import { temporaryFile } from './openTestStore.js'

/** Tables that grow with what is heard, asked and left. */
const growing = [
  'events',
  'frames',
  'transmissions',
  'keyings',
  'messages',
  'questions',
  'mailbox',
  'notices',
  'letters',
  'emails',
  'emails_taken',
  'stations',
  'hill_entries',
]

/** A whole table or index is read by these only, each for a reason. */
const allowed: Readonly<Record<string, string>> = {
  'SELECT call, last_heard_ms, details FROM stations ORDER BY last_heard_ms':
    'once at the start: the stations are kept in memory',
  'SELECT * FROM questions WHERE 1 ORDER BY id DESC LIMIT ?': 'ends after so many rows',
  'SELECT id FROM mailbox ORDER BY id DESC LIMIT ?': 'ends after so many rows',
  'SELECT * FROM mailbox WHERE id IN (SELECT id FROM mailbox ORDER BY id DESC LIMIT ?) ORDER BY id':
    'ends after so many rows',
  'SELECT * FROM hill_entries WHERE 1 ORDER BY id DESC LIMIT ?': 'ends after so many rows',
  'SELECT * FROM notices WHERE (expiry_trusted = 0 OR expires_ms > ?) ORDER BY id DESC LIMIT ?':
    'the newest notices; what has expired is removed each day',
  'SELECT * FROM letters WHERE read_ms IS NULL ORDER BY id': 'an index of the unread ones only',
  'SELECT count(*) AS count FROM letters WHERE 1': 'there may be connected.lettersTotal of them',
}

/** Calls of every method of every table, so that each statement is prepared. */
const calls: Readonly<Record<string, Readonly<Record<string, readonly unknown[]>>>> = {
  frames: { add: [frame()], query: [{ sinceWallMs: 1, untilWallMs: 9 }], countSince: [1] },
  events: {
    add: [{ atWallMs: 1, kind: 'heard', station: 'Q1', text: 'x' }],
    query: [{ sinceWallMs: 1, untilWallMs: 9, limit: 5 }],
    each: [{ afterId: 1 }],
    isMoreThan: [1, {}],
    count: [{ sinceWallMs: 1 }],
  },
  keyings: {
    add: [{ atWallMs: 1, radio: 0, durationMs: 5 }],
    ...{ between: [1, 9], firstWallMs: [] },
  },
  questions: {
    insert: [question()],
    ...{ end: [1, 'answered', 1], heardAgain: [1], findCopy: ['Q1', '1', 'x', 1], find: [1] },
    ...{ open: [], recent: [5] },
  },
  messages: {
    insert: [message()],
    ...{ end: [1, 'acknowledged', 1], setState: [1, 'parked'], revive: [1, 9], noteAttempt: [1] },
    ...{ find: [1], findByNumber: ['Q1', '1'], open: [], ofQuestion: [1], countAcknowledged: [] },
    query: [{ sinceWallMs: 1 }],
  },
  mailbox: {
    insert: [entry()],
    ...{ findByQuestion: ['Q1'], find: [1], findSame: ['Q1', 'Q2', 'x'], waitingFor: ['Q2-7'] },
    ...{ sendingTo: ['Q2'], collectedBy: ['Q1'], setSending: [1, '1', 'Q2'], setWaiting: [1] },
    ...{ setShown: [1] },
    ...{ sending: [], notePrompt: [[1], 1], end: [1, 'delivered', 1], expired: [9, 5] },
    ...{ trustExpiry: [9, 5], openCountFrom: ['Q1'], openFrom: ['Q1'] },
    ...{ openCountFor: ['Q2'], recent: [5] },
    ...{ untrustedCount: [], openCount: [], setPassedOn: [1], waiting: [], capExpiry: [9] },
    ...{ lastByMailTo: ['Q2'], ofSeveral: ['Q1'], newestOfSeveral: ['Q1'] },
  },
  hills: {
    insert: [hillRow()],
    ...{ find: ['Q1.A'], findByLocal: ['message', 'Q1'], open: [], openTo: ['Q2'], recent: [5] },
    ...{ setState: ['Q1.A', 'handing', 'Q2'], setPlace: ['Q1.A', 9, '1'], end: ['Q1.A', 'x'] },
    ...{ noteHas: ['Q1.A', 'Q2'], has: ['Q1.A', 'Q2'], forgetHas: ['Q2'], peer: ['Q2'] },
    setPeer: [{ call: 'Q2', epoch: 'x', count: 1, confirmed: 1 }],
    ...{ forgetPeers: [], untrustedCount: [], trustExpiry: [9, 5], expired: [9, 5], prune: [5] },
    capExpiry: [9],
  },
  notices: {
    insert: [notice()],
    ...{ hasQuestion: ['Q1'], remove: ['Q2'], current: [1, 5], countFrom: ['Q1', 1] },
    trustExpiry: [9, 5],
    untrustedCount: [],
  },
  letters: {
    insert: [{ ...entry(), subject: 'x', questionId: undefined }],
    ...{ unread: [], waitingFor: ['Q2-7', 1], find: [1], setRead: [1, 'Q2', 1], remove: [1] },
    ...{ setShown: [1] },
    ...{ countFrom: ['Q1'], countFor: ['Q2'], count: [], untrustedCount: [], trustExpiry: [9, 5] },
  },
  emails: {
    insert: [email()],
    ...{ find: [1], findByQuestion: ['Q1'], findByMessageId: ['<a@b>'], waiting: [1, 5] },
    ...{ findSame: ['Q1', 'a@b', 'x'], waitingCount: [], countWithin: [9, 1, 'Q1'] },
    ...{ hasWritten: ['Q1'], noteAttempt: [1], noteWaiting: [1, true], end: [1, 'sent', 1] },
    ...{ expired: [9, 5], untrustedCount: [], trustExpiry: [9, 5], noteTaken: ['<a@b>', 1] },
    ...{ namesOf: ['Q1'], setName: ['Q1', 'mum', 'a@b'], nameCount: [], writtenBy: ['Q1', 5] },
  },
  transmissions: {
    add: [transmission()],
    begin: [transmission()],
    ...{ end: [1, { outcome: 'sent' }], endUnfinished: ['x'], query: [{ sinceWallMs: 1 }] },
  },
  stations: {
    add: [{ call: 'Q1', atWallMs: 1, radio: 0, via: [] }],
    takeAgain: [{ call: 'Q2', atWallMs: 1, radio: 0, via: [] }],
    ...{ find: ['Q1'], recent: [5], weather: [1], signals: ['Q1', 5], forgetBefore: [9, 5] },
    ...{ hourlyCounts: ['Q1', 8, 1], count: [], oldestMs: [] },
  },
  serviceData: {
    all: ['s'],
    records: ['s', { expected: 'anything', isOne: () => true }],
    set: ['s', 'k', 'v'],
    delete: ['s', 'k'],
  },
}

function frame() {
  return {
    ...{ heardAtWallMs: 1, radio: 0, source: 'Q1', octets: new Uint8Array(3) },
    ...{ repairedBits: 0, detector: 'test' },
  }
}
function question() {
  return {
    ...{ from: 'Q1', addressee: 'N0DE', number: '1', text: 'x', radio: 0, heardWallMs: 1 },
    ownPart: 'x',
  }
}
function message() {
  return {
    ...{ kind: 'answer', to: 'Q1', text: 'x', radio: 0, state: 'waiting', questionId: 1 },
    ...{ createdWallMs: 1, notAfterWallMs: 9 },
  }
}
function entry() {
  return {
    ...{ questionId: 'Q1', from: 'Q1', to: 'Q2', text: 'x', leftWallMs: 1, expiresWallMs: 9 },
    expiryTrusted: true,
  }
}
function hillRow() {
  return {
    ...{
      entryId: 'Q1.A',
      kind: 'message',
      from: 'Q1',
      to: 'Q2',
      subject: '',
      text: 'x',
      trace: '',
    },
    ...{ writtenWallMs: 1, expiresWallMs: 9, expiryTrusted: true, state: 'here' },
  }
}
function notice() {
  return {
    ...{ questionId: 'Q1', from: 'Q1', text: 'x', postedWallMs: 1, expiresWallMs: 9 },
    expiryTrusted: true,
  }
}
function email() {
  return {
    ...{ questionId: 'Q1', kind: 'letter', from: 'Q1', toAddress: 'a@b', toName: 'a', text: 'x' },
    ...{ messageId: '<a@b>', language: 'en', leftWallMs: 1, expiresWallMs: 9, expiryTrusted: true },
  }
}
function transmission() {
  return { atWallMs: 1, radio: 0, priority: 'answer', octets: new Uint8Array(3), outcome: 'sent' }
}

const statements = new Set<string>()

/** The real module, which also notes every statement that is prepared. */
vi.mock('../../src/store/sqliteModule.js', async (original) => {
  const real = await original<typeof import('../../src/store/sqliteModule.js')>()
  class Watched extends real.sqliteModule().DatabaseSync {
    override prepare(sql: string): SqliteStatement {
      statements.add(sql.replace(/\s+/g, ' ').trim())
      return super.prepare(sql)
    }
  }
  return { ...real, sqliteModule: () => ({ DatabaseSync: Watched }) }
})

type Tables = Readonly<Record<string, Readonly<Record<string, unknown>>>>

function callAll(tables: Tables, only?: readonly string[]): void {
  for (const [name, methods] of Object.entries(calls)) {
    const table = tables[name]!
    expect(Object.keys(table).sort(), name).toEqual(Object.keys(methods).sort())
    for (const [method, given] of Object.entries(methods)) {
      if (only !== undefined && !only.includes(`${name}.${method}`)) continue
      const member = table[method]
      const result = typeof member === 'function' ? member(...given) : member
      if (method === 'each') expect([...(result as Iterable<unknown>)]).toBeDefined()
    }
  }
}

/** What of the plan reads all of a table that grows. An index of what is open is short; the first row in order is one. */
function faultsOf(sqlite: Sqlite, sql: string): string[] {
  if (!/^(SELECT|UPDATE|DELETE|INSERT|WITH)/.test(sql)) return []
  const ofOpen = sqlite
    .all<{ name: string }>(
      "SELECT name FROM sqlite_schema WHERE sql LIKE '%INDEX%WHERE %state%' OR sql LIKE '%WHERE outcome%' OR sql LIKE '%WHERE expiry_trusted%'",
    )
    .map(({ name }) => name)
  const isShort = (detail: string): boolean =>
    ofOpen.some((name) => detail.endsWith(`INDEX ${name}`)) ||
    (/ORDER BY \w+ LIMIT 1$/.test(sql) && detail.includes(' USING '))
  const scan = new RegExp(`^SCAN (${growing.join('|')})\\b`)
  // The least or greatest id of what fits, sought row by row until one does: what looks like a search is a scan of most.
  const isWalk = (detail: string): boolean =>
    /^SELECT (min|max)\(id\).* WHERE /.test(sql) && /^SEARCH \w+$/.test(detail)
  return sqlite
    .all<{ detail: string }>(`EXPLAIN QUERY PLAN ${sql}`)
    .map(({ detail }) => detail)
    .filter(
      (detail) =>
        (scan.test(detail) && !isShort(detail)) ||
        isWalk(detail) ||
        // a search of the log has the order of its index
        (sql.startsWith('SELECT id FROM events') && detail.includes('TEMP B-TREE')),
    )
}

describe('every statement of the store', () => {
  it('finds what it looks for by an index, in tables that grow', () => {
    const clock = virtualClock()
    const file = temporaryFile()
    const store = openStore({
      file,
      clock,
      retention: { keepMs: 86_400_000, keepStationsMs: 86_400_000, sizeBytesMax: 1 },
    })
    const done = store.durably('all', () => callAll(store as unknown as Tables))
    if (!done.ok) throw done.failure
    for (const filter of [
      { station: 'Q1' },
      { station: 'Q1-7', kinds: ['heard', 'asked'], sinceWallMs: 1 },
      { kinds: ['heard'] },
      { kinds: ['heard', 'asked', 'fault'], untilWallMs: 9, limit: 3 },
      { reference: 'Q1', radio: 1, limit: 2 },
      { reference: 'Q1', station: 'Q1', kinds: ['asked'] },
      {},
    ] as const) {
      store.events.query(filter)
      store.events.count(filter)
      store.events.isMoreThan(3, filter)
      expect([...store.events.each({ ...filter, afterId: 1 })]).toBeDefined()
    }
    store.count('test')
    store.state()
    clock.advanceBy(3 * 86_400_000)
    const reader = openStoreReader(file, () => clock.wallMs())
    const reading = ['mailbox.waitingFor', 'mailbox.recent', 'events.query', 'events.count']
    for (const name of reading) {
      const [table, method] = name.split('.') as [string, string]
      const found = (reader as unknown as Tables)[table]![method] as (
        ...given: unknown[]
      ) => unknown
      found(...calls[table]![method]!)
    }
    reader.hasChanged()
    reader.close()
    store.close()
    expect(statements.size).toBeGreaterThan(70)
    const sqlite = openSqlite(file, { readOnly: true })
    const faults = [...statements]
      .filter((sql) => !(sql in allowed))
      .flatMap((sql) => faultsOf(sqlite, sql).map((detail) => `${detail}: ${sql}`))
    expect(faults).toEqual([])
    // and no exception outlives its reason
    const used = Object.keys(allowed).filter((sql) => faultsOf(sqlite, sql).length > 0)
    expect(Object.keys(allowed)).toEqual(used)
    sqlite.close()
  })

  it('would be found out otherwise', () => {
    const file = temporaryFile()
    openStore({ file, clock: virtualClock() }).close()
    const sqlite = openSqlite(file, { readOnly: true })
    expect(faultsOf(sqlite, "SELECT * FROM mailbox WHERE text = 'x'")).toEqual(['SCAN mailbox'])
    const walk = 'SELECT min(id) AS id FROM events WHERE at_ms >= 5'
    expect(faultsOf(sqlite, walk)).toEqual(['SEARCH events'])
    sqlite.close()
  })
})
