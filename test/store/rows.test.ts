import { describe, expect, it } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { openDatabase } from '../../src/store/database.js'
import {
  type OpenSqlite,
  openSqlite,
  type Sqlite,
  type SqlValue,
} from '../../src/store/sqliteDriver.js'
import { readStationDetails } from '../../src/store/stationDetails.js'
import { openStore } from '../../src/store/store.js'
import { openTestStore, temporaryFile } from './openTestStore.js'

const raw = (file: string) =>
  openDatabase({ file, onFault: () => {}, wallMs: () => virtualClock().wallMs() })

/** A sound row of each table, by column. */
const sound: Readonly<Record<string, Readonly<Record<string, SqlValue>>>> = {
  messages: {
    ...{ kind: 'answer', to_call: 'N0CALL-7', number: 'A1', reply_to: null, text: 'hello' },
    ...{ question_id: 1, mailbox_id: null, radio: 0, state: 'waiting', attempts: 0 },
    ...{ created_ms: 1_000, not_after_ms: 2_000, ended_ms: null, reason: null },
  },
  questions: {
    ...{ from_call: 'N0CALL-7', addressee: 'N0DE-10', number: '1', text: 'help', radio: 0 },
    ...{ heard_ms: 1_000, last_heard_ms: 1_000, state: 'accepted', reason: null, own_part: 'abc' },
  },
  mailbox: {
    ...{ question_id: 'Q1', from_call: 'N0CALL-7', to_call: 'N0CALL-8', text: 'hello' },
    ...{ left_ms: 1_000, expires_ms: 9e12, state: 'waiting', number: null, collected_by: null },
    ...{ collect_question: null, prompted_ms: null, prompt_count: 0, ended_ms: null },
  },
  notices: {
    ...{ question_id: 'Q1', from_call: 'N0CALL-7', text: 'path open', posted_ms: 1_000 },
    ...{ expires_ms: 9e12 },
  },
  events: { at_ms: 1_000, kind: 'asked', radio: 0, station: 'N0CALL-7', text: 'help' },
}

const octets = new Uint8Array([1, 2, 3])
const long = 'x'.repeat(10_001)
/** What a column may hold all the same: SQLite keeps in any column whatever it was given. */
const damagedBy = {
  whole: [octets, 'not a number', 1.5, 1e300, 9_007_199_254_740_993n],
  time: [octets, 'yesterday', -1, 1e300, 9_007_199_254_740_993n],
  call: [octets, '', 'NOT A CALL', 'N0\nCALL', 'N0CALL-100', 'N0CALL-16', 'n0call', '1.0e+300'],
  name: [octets, 'unheard of'],
  short: [octets, long],
  text: [octets, long],
} as const
const kindOf = (column: string): keyof typeof damagedBy => {
  if (column.endsWith('_ms')) return 'time'
  if (column.endsWith('_call') || column === 'collected_by') return 'call'
  if (['kind', 'state'].includes(column)) return 'name'
  if (['radio', 'attempts', 'prompt_count', 'mailbox_id'].includes(column)) return 'whole'
  return ['text', 'reason', 'station'].includes(column) ? 'text' : 'short'
}
/** Columns that no list selects by, and no value of which is wrong. */
const unread: readonly string[] = ['notices.question_id', 'messages.question_id']

describe('rows that do not hold what they should', () => {
  it.each(Object.keys(sound))('of %s are left out, counted, and kept', (name) => {
    const file = temporaryFile()
    openTestStore(file).store.close()
    const database = raw(file)
    let count = 0
    const insert = (row: Readonly<Record<string, SqlValue>>): void => {
      count++
      const unique =
        typeof row.question_id === 'string' ? { question_id: `${row.question_id}${count}` } : {}
      const whole = { ...row, ...unique }
      const places = Object.keys(whole).map(() => '?')
      database.run(
        `INSERT INTO ${name} (${Object.keys(whole).join(', ')}) VALUES (${places.join(', ')})`,
        ...Object.values(whole),
      )
    }
    const columns = Object.keys(sound[name]!).filter((one) => !unread.includes(`${name}.${one}`))
    for (const column of columns)
      for (const value of damagedBy[kindOf(column)]) insert({ ...sound[name]!, [column]: value })
    insert({ ...sound[name]!, text: 'the sound one' })
    database.close()

    const { store, faults } = openTestStore(file)
    const lists = {
      messages: () => store.messages.open(),
      questions: () => store.questions.open(),
      mailbox: () => store.mailbox.waitingFor('N0CALL-8'),
      notices: () => store.notices.current(2_000, 100),
      events: () => store.events.query(),
    }
    const read = lists[name as keyof typeof lists]
    expect(read().map(({ text }) => text)).toEqual(['the sound one'])
    const { badRowCount } = store.state()
    // some have a value by which they are not even looked for: another state, another receiver, a time long past
    expect(badRowCount).toBeGreaterThan(count / 2)
    expect(read()).toHaveLength(1)
    expect(store.state().badRowCount).toBe(badRowCount)
    expect(faults).toHaveLength(badRowCount)
    for (const fault of faults) {
      expect(fault.code).toBe('store-bad-row')
      expect(fault.message).toMatch(new RegExp(`: ${name}, row \\d+: got .+, expected `))
    }
    store.close()
    const again = raw(file)
    expect(again.get(`SELECT count(*) AS count FROM ${name}`)).toEqual({ count })
    again.close()
  })

  it('what was expected of a name is told', () => {
    const file = temporaryFile()
    openTestStore(file).store.close()
    const database = raw(file)
    const row = { ...sound.messages!, state: 'unheard of' }
    database.run(
      `INSERT INTO messages (${Object.keys(row).join(', ')}) VALUES (${Object.keys(row).map(() => '?')})`,
      ...Object.values(row),
    )
    database.close()
    const { store, faults } = openTestStore(file)
    store.messages.query()
    expect(faults.map(({ message }) => message).join()).toContain(
      'messages, row 1: got state: "unheard of", expected one of waiting, parked, sent,',
    )
    store.close()
  })

  const quality = {
    ...{ levelDbfs: -10, toneBalanceDb: 0, toneOffsetHz: 0, symbolRateErrorPpm: 0, ebN0Db: 20 },
    ...{ eyeOpening: 1, clippedShare: 0, preambleFlags: 30 },
  }
  const station = {
    ...{ call: 'N0CALL-7', firstHeardMs: 1, lastHeardMs: 2, frameCount: 3, radio: 0, via: [] },
    ...{ signals: [{ atWallMs: 2, quality }], hours: [[0, 3]], quality },
    ...{ position: { latitudeDeg: 45, longitudeDeg: 6, atWallMs: 2 } },
    ...{ weather: { call: 'N0CALL-7', atWallMs: 2, temperatureC: 3 }, status: 'on', symbol: '/>' },
  }
  const reads = (change: object): unknown =>
    readStationDetails('N0CALL-7', 2, JSON.stringify({ ...station, ...change }))

  it('stations: what is whole comes back as it was', () => {
    expect(reads({})).toEqual(station)
    expect(reads({ lastDirectMs: 2, position: undefined, weather: undefined })).toBeDefined()
    // what was not finite when it was kept
    expect(reads({ quality: { ...quality, ebN0Db: null } })).not.toHaveProperty('quality')
    expect(reads({ signals: [{ atWallMs: 2, quality: null }] })).toMatchObject({ signals: [] })
  })

  it.each([
    { call: 'N0CALL-8' },
    { lastHeardMs: 'yesterday' },
    { lastHeardMs: 1e300 },
    { lastDirectMs: 'x' },
    { frameCount: null },
    { via: 'direct' },
    { via: [1, null] },
    { hours: [[1]] },
    { hours: 7 },
    { signals: {} },
    { signals: [{ quality }] },
    { position: { latitudeDeg: 450, longitudeDeg: 6, atWallMs: 2 } },
    { position: { latitudeDeg: 45, longitudeDeg: 6 } },
    { weather: { call: 'N0CALL-7', atWallMs: 2, temperatureC: 'cold' } },
    { status: 5 },
  ])('stations: %j is not whole', (change) => {
    expect(reads(change)).toBeUndefined()
  })

  it('stations: no JSON, no object, no text', () => {
    for (const text of ['', '{', 'null', '7', '[]', new Uint8Array(3), 5, null])
      expect(readStationDetails('N0CALL-7', 2, text)).toBeUndefined()
  })

  it('a station that cannot be read is left out, and the others are there', () => {
    const file = temporaryFile()
    openTestStore(file).store.close()
    const database = raw(file)
    const insert = 'INSERT INTO stations (call, last_heard_ms, details) VALUES (?, ?, ?)'
    database.run(insert, 'N0CALL-7', 2, JSON.stringify(station))
    database.run(insert, 'N0CALL-8', 2, '{"call":"N0CALL-8","hours":[]}')
    database.run(insert, 'N0CALL-9', 2, new Uint8Array([1]))
    database.close()
    const { store, faults } = openTestStore(file)
    expect(store.stations.recent(10).map(({ call }) => call)).toEqual(['N0CALL-7'])
    expect(store.state().badRowCount).toBe(2)
    expect(faults.map(({ code }) => code)).toEqual(['store-bad-row', 'store-bad-row'])
    store.close()
  })
})

describe('counters that are damaged', () => {
  it.each([['9007199254740993'], ['-5'], ["'abc'"], ["x'00ff'"], ['1e300']])(
    '%s begins anew, so that there are numbers for messages',
    (value) => {
      const file = temporaryFile()
      const opened: Sqlite[] = []
      const openFile: OpenSqlite = (name, options) => {
        const sqlite = openSqlite(name, options)
        opened.push(sqlite)
        return sqlite
      }
      const store = openStore({ file, clock: virtualClock(), openFile })
      const next = () => store.durably('a test', () => store.count('number'))
      next()
      opened[0]!.exec(`UPDATE counters SET value = ${value} WHERE name = 'number'`)
      expect(next()).toEqual({ ok: true, value: 1 })
      expect(next()).toEqual({ ok: true, value: 2 })
      store.close()
    },
  )
})
