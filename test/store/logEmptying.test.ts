import { statSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { openSqlite } from '../../src/store/sqliteDriver.js'
import { openStore, type Store } from '../../src/store/store.js'
import { defaultStoreOptions, temporaryFile } from './openTestStore.js'

const limitBytes = 4_194_304
/** What SQLite holds in memory of a transaction goes to the log when it is committed. */
const cacheBytes = 2_048_000

/** A store that says what it does with its log. */
function opened() {
  const clock = virtualClock()
  const file = temporaryFile()
  const faults: string[] = []
  const tries: unknown[] = []
  const commits: { before: number; after: number; logBytes: number }[] = []
  let problem: Error | undefined
  const fileBytes = (): number => statSync(file).size
  const logBytes = (): number => statSync(`${file}-wal`).size
  const store = openStore({
    ...{ ...defaultStoreOptions(clock), file, clock },
    onFault: ({ message }) => void faults.push(message),
    openFile(...given) {
      const sqlite = openSqlite(...given)
      return {
        ...sqlite,
        exec(sql) {
          const before = fileBytes()
          sqlite.exec(sql)
          if (sql === 'COMMIT') commits.push({ before, after: fileBytes(), logBytes: logBytes() })
        },
        get<Row>(sql: string, ...values: never[]) {
          if (!sql.startsWith('PRAGMA wal_checkpoint')) return sqlite.get<Row>(sql, ...values)
          if (problem !== undefined) throw problem
          const row = sqlite.get<Row>(sql)
          tries.push(row)
          return row
        },
      }
    },
  })
  return {
    ...{ clock, file, store, faults, tries, commits, fileBytes, logBytes },
    setProblem(value: Error | undefined) {
      problem = value
    },
  }
}

/** A letter of some 100 kB. */
function write(store: Store, number: number): void {
  const kept = store.durably('a letter', () =>
    store.letters.insert({
      ...{ from: 'Q1ABC', to: 'Q2DEF', subject: `${number}`, text: 'x'.repeat(100_000) },
      ...{ leftWallMs: 0, expiresWallMs: 9, expiryTrusted: true },
    }),
  )
  expect(kept.ok).toBe(true)
}

function hear(store: Store, count: number, atWallMs: number): void {
  for (let number = 0; number < count; number++) {
    const station = `Q${number % 700}`
    store.frames.add({
      ...{ heardAtWallMs: atWallMs, radio: 0, source: station, repairedBits: 0 },
      ...{ octets: new Uint8Array(900), detector: 'test' },
    })
    store.events.add({ atWallMs, kind: 'heard', radio: 0, station, text: 'on the ridge' })
  }
}

describe('the write-ahead log', () => {
  it('goes into the database file in a call of its own, after the commit that filled it', () => {
    const { clock, store, tries, commits, fileBytes, logBytes } = opened()
    const emptyBytes = fileBytes()
    for (let number = 0; logBytes() <= limitBytes; number++) write(store, number)
    expect(commits.length).toBeGreaterThan(20)
    // no commit put anything into the file
    expect(commits.every(({ before, after }) => before === after)).toBe(true)
    expect(tries).toEqual([])
    clock.advanceBy(0)
    expect(tries).toHaveLength(1)
    expect(fileBytes()).toBeGreaterThan(emptyBytes + 3_000_000)
    // the next commit begins it anew
    write(store, 0)
    expect(logBytes()).toBe(limitBytes)
    clock.advanceBy(60_000)
    expect(tries).toHaveLength(1)
    store.close()
  })

  it('holds no more than it should of what was heard, whatever was gathered', () => {
    const { clock, store, commits, tries, faults } = opened()
    hear(store, 14_000, clock.wallMs())
    clock.advanceBy(60_000)
    expect(store.state()).toMatchObject({ pendingCount: 0, counters: { droppedCount: 0 } })
    expect(store.frames.countSince(0)).toBe(14_000)
    const most = Math.max(...commits.map((commit) => commit.logBytes))
    expect(most).toBeGreaterThan(limitBytes)
    expect(most).toBeLessThan(limitBytes + cacheBytes)
    expect(commits.every(({ before, after }) => before === after)).toBe(true)
    expect(tries.length).toBeGreaterThan(1)
    expect(faults).toEqual([])
    store.close()
  })

  it('waits where somebody reads what was there before: it is tried once a second, and done when that ends', () => {
    const { clock, file, store, tries, fileBytes, logBytes } = opened()
    const other = openSqlite(file)
    other.exec('BEGIN')
    expect(other.all('SELECT * FROM letters')).toEqual([])
    const emptyBytes = fileBytes()
    for (let number = 0; number < 100; number++) {
      write(store, number)
      clock.advanceBy(40)
    }
    expect(logBytes()).toBeGreaterThan(2 * limitBytes)
    expect(fileBytes()).toBeLessThan(emptyBytes + 200_000)
    expect(tries.length).toBeGreaterThan(1)
    expect(tries.length).toBeLessThan(5)
    other.exec('COMMIT')
    write(store, 100)
    clock.advanceBy(1_000)
    expect(fileBytes()).toBeGreaterThan(10_000_000)
    write(store, 101)
    expect(logBytes()).toBe(limitBytes)
    other.close()
    store.close()
  })

  it('is not committed at each step while somebody reads what was there before', () => {
    const { clock, file, store, commits } = opened()
    const other = openSqlite(file)
    other.exec('BEGIN')
    other.all('SELECT * FROM letters')
    for (let number = 0; number < 50; number++) write(store, number)
    commits.length = 0
    hear(store, 9_000, clock.wallMs())
    clock.advanceBy(60_000)
    expect(store.frames.countSince(0)).toBe(9_000)
    expect(commits.length).toBeLessThan(8)
    other.close()
    store.close()
  })

  it('does not grow without end where no call gets its turn', () => {
    const { store, logBytes, fileBytes } = opened()
    for (let number = 0; number < 400; number++) write(store, number)
    expect(fileBytes()).toBeGreaterThan(20_000_000)
    expect(logBytes()).toBeLessThan(4.1 * limitBytes)
    store.close()
  })

  it('where the disk does not take it: that is told, and done later', () => {
    const { clock, store, faults, fileBytes, logBytes, setProblem } = opened()
    setProblem(Object.assign(new Error('disk I/O error'), { errcode: 10 }))
    const emptyBytes = fileBytes()
    for (let number = 0; logBytes() <= limitBytes; number++) write(store, number)
    clock.advanceBy(10_000)
    expect(faults).toHaveLength(1)
    expect(faults[0]).toMatch(/node\.db: bringing its log into it: the disk fails/)
    write(store, 1)
    clock.advanceBy(10_000)
    expect(faults).toHaveLength(1)
    expect(fileBytes()).toBe(emptyBytes)
    setProblem(undefined)
    clock.advanceBy(60_000)
    expect(fileBytes()).toBeGreaterThan(3_000_000)
    expect(faults).toHaveLength(1)
    store.close()
  })

  it('is in the database file once the store is closed', () => {
    const { file, store, fileBytes } = opened()
    for (let number = 0; number < 10; number++) write(store, number)
    const before = fileBytes()
    store.close()
    expect(statSync(file).size).toBeGreaterThan(before + 900_000)
  })
})
