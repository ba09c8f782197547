import { describe, expect, it } from 'vitest'
import { type VirtualClock, virtualClock } from '../../src/runtime/virtualClock.js'
import { openSqlite, type Sqlite } from '../../src/store/sqliteDriver.js'
import { openStore, type Store, type StoreOptions } from '../../src/store/store.js'
import { testNode } from '../node/testNode.js'
import { defaultStoreOptions, temporaryFile } from './openTestStore.js'

const dayMs = 86_400_000

/** Of any step. What counts what was taken is a row, too. */
const rowsMax = 1_000 + 5
/** What was gathered; its rows are more each. */
const gatheredRowsMax = 125 + 5

/**
 * A store that counts the rows that it reads and writes while one call of the clock runs: nothing else gets the main thread
 * meanwhile. Rows, not time: a test asserts no speed.
 */
function counted(change: Partial<StoreOptions> = {}, clock: VirtualClock = virtualClock()) {
  let rows = 0
  let most = 0
  const watched = (sqlite: Sqlite): Sqlite => ({
    ...sqlite,
    run(...given) {
      const result = sqlite.run(...given)
      rows += result.changes
      return result
    },
    all<Row>(...given: Parameters<Sqlite['all']>) {
      const found = sqlite.all<Row>(...given)
      if (!given[0].startsWith('PRAGMA')) rows += found.length
      return found
    },
  })
  const stepped: VirtualClock = {
    ...clock,
    at: (atMs, run) =>
      clock.at(atMs, () => {
        rows = 0
        run()
        most = Math.max(most, rows)
      }),
  }
  const store = openStore({
    ...defaultStoreOptions(clock),
    ...{ file: temporaryFile(), clock: stepped, ...change },
    openFile: (...given) => watched(openSqlite(...given)),
    onFault: (failure) => {
      throw failure
    },
  })
  return {
    ...{ store, clock, stepped },
    /** rows of the longest step since it was asked last */
    takeMost() {
      const value = most
      most = 0
      return value
    },
  }
}

function hear(store: Store, call: string, atWallMs: number): void {
  store.frames.add({
    ...{ heardAtWallMs: atWallMs, radio: 0, source: call, octets: Uint8Array.of(0, 255) },
    ...{ repairedBits: 0, detector: 'test' },
  })
  store.stations.add({ call, atWallMs, radio: 0, via: [], status: 'on the ridge' })
  store.events.add({ atWallMs, kind: 'heard', radio: 0, station: call, text: `from ${call}` })
}

describe('no step takes more than a thousand rows', () => {
  it('when a full gathering file goes into the tables, with thousands of stations', () => {
    const { store, clock, takeMost } = counted()
    for (let count = 0; count < 4_500; count++) {
      hear(store, `Q${count % 3_000}`, clock.wallMs())
      if (count % 3 === 2) clock.advanceBy(30_000)
    }
    expect(takeMost()).toBeGreaterThan(100)
    clock.advanceBy(2 * dayMs)
    expect(store.state().pendingCount).toBe(0)
    expect(takeMost()).toBeLessThanOrEqual(gatheredRowsMax)
    expect(store.frames.query({ limit: 9_999 })).toHaveLength(4_500)
    store.close()
  })

  it('when a query is to find what was gathered', async () => {
    const { store, clock, takeMost } = counted()
    for (let count = 0; count < 3_500; count++) hear(store, 'Q1ABC', clock.wallMs())
    expect(store.state().pendingCount).toBe(7_000)
    let isSettled = false
    void store.settled().then(() => {
      isSettled = true
    })
    for (let step = 0; step < 80 && !isSettled; step++)
      await clock.advanceToAsync(clock.monotonicMs() + 5)
    expect(isSettled).toBe(true)
    expect(store.state().pendingCount).toBeLessThanOrEqual(1_000)
    expect(takeMost()).toBeLessThanOrEqual(gatheredRowsMax)
    expect(store.frames.countSince(0)).toBe(3_500)
    store.close()
  })

  it('nor does one record of the gathering file hold more', () => {
    const { store, clock } = counted()
    for (let count = 0; count < 2_600; count++) hear(store, 'Q1ABC', clock.wallMs())
    // 5,200 writes in six records
    clock.advanceBy(30_000)
    expect(store.state().counters.batchCount).toBe(6)
    store.close()
  })

  it('when 3,000 stations are forgotten, and 1,500 notices and 500 letters end', () => {
    const retention = { keepMs: 2 * dayMs, keepStationsMs: dayMs, sizeBytesMax: 1e9 }
    const trusted = { trusted: () => true, steps: { count: 0, lastMs: 0 } } as never
    const { store, clock, takeMost } = counted({ retention, clockTrust: trusted })
    for (let count = 0; count < 3_000; count++)
      store.stations.add({ call: `Q${count}`, atWallMs: clock.wallMs(), radio: 0, via: [] })
    const expiresWallMs = clock.wallMs() + dayMs
    store.durably('what ends', () => {
      for (let count = 0; count < 1_500; count++)
        store.notices.insert({
          ...{ questionId: `Q${count}`, from: 'Q1', text: 'x', postedWallMs: 0 },
          ...{ expiresWallMs, expiryTrusted: true },
        })
      for (let count = 0; count < 500; count++)
        store.letters.insert({
          ...{ from: 'Q1', to: 'Q2', subject: 's', text: 'x', leftWallMs: 0 },
          ...{ expiresWallMs, expiryTrusted: true },
        })
    })
    clock.advanceBy(4 * dayMs)
    expect(store.stations.count).toBe(0)
    expect(store.letters.count).toBe(0)
    expect(store.notices.hasQuestion('Q7')).toBe(false)
    expect(takeMost()).toBeLessThanOrEqual(rowsMax)
    expect(store.state().counters.droppedCount).toBe(0)
    store.close()
  })

  it('when 3,000 letters get their time because the clock can be trusted', async () => {
    let isTrusted = false
    const trust = { trusted: () => isTrusted, steps: { count: 0, lastMs: 0 } } as never
    const { store, stepped, takeMost } = counted({ clockTrust: trust })
    store.durably('mail', () => {
      for (let index = 0; index < 3_000; index++)
        store.mailbox.insert({
          ...{ questionId: `Q${index}`, from: `Q${index % 300}AB`, to: `Q${index % 400}CD` },
          ...{ text: `letter ${index}`, leftWallMs: 0, expiresWallMs: 0, expiryTrusted: false },
        })
    })
    const node = testNode({ clock: stepped, store, clockTrust: trust })
    await node.wait(120)
    expect(store.mailbox.untrustedCount).toBe(3_000)
    isTrusted = true
    takeMost()
    await node.wait(120)
    expect(store.mailbox.untrustedCount).toBe(0)
    expect(takeMost()).toBeLessThanOrEqual(rowsMax)
    node.node.stop()
    store.close()
  })
})

describe('the steps of a checkpoint', () => {
  const commits = (): { sql: string[]; openFile: NonNullable<StoreOptions['openFile']> } => {
    const sql: string[] = []
    return {
      sql,
      openFile(...given) {
        const sqlite = openSqlite(...given)
        return {
          ...sqlite,
          exec(text) {
            if (/^(BEGIN|COMMIT|ROLLBACK)/.test(text)) sql.push(text.split(' ')[0]!)
            if (text === 'COMMIT' && sql.at(-3) === 'fail') throw new Error('no room')
            sqlite.exec(text)
          },
        }
      },
    }
  }
  const opened = (openFile: NonNullable<StoreOptions['openFile']>) => {
    const clock = virtualClock()
    const faults: string[] = []
    const onFault = ({ message }: Error): void => void faults.push(message)
    const file = temporaryFile()
    const store = openStore({ ...defaultStoreOptions(clock), file, clock, openFile, onFault })
    return { store, clock, file, faults }
  }
  const seen = (file: string): unknown => {
    const other = openSqlite(file, { readOnly: true })
    const row = other.get('SELECT count(*) AS frames FROM frames')
    other.close()
    return row
  }

  it('are one transaction, which other processes see when it ends', () => {
    const { sql, openFile } = commits()
    const { store, clock, file } = opened(openFile)
    for (let count = 0; count < 9_000; count++) hear(store, 'Q1ABC', clock.wallMs())
    sql.length = 0
    clock.advanceBy(500)
    expect(sql).toEqual(['BEGIN'])
    expect(seen(file)).toEqual({ frames: 0 })
    clock.advanceBy(5_000)
    expect(sql).toEqual(['BEGIN', 'COMMIT'])
    expect(seen(file)).toEqual({ frames: 9_000 })
    store.close()
  })

  it('make way for a message, and go on after it', () => {
    const { sql, openFile } = commits()
    const { store, clock, file } = opened(openFile)
    for (let count = 0; count < 9_000; count++) hear(store, 'Q1ABC', clock.wallMs())
    clock.advanceBy(500)
    sql.length = 0
    store.durably('a count', () => store.count('test'))
    expect(sql).toEqual(['COMMIT', 'BEGIN', 'COMMIT'])
    const { frames } = seen(file) as { frames: number }
    expect(frames).toBeGreaterThan(1_000)
    expect(store.state().pendingCount).toBe(18_000 - 2 * frames)
    clock.advanceBy(5_000)
    expect(seen(file)).toEqual({ frames: 9_000 })
    expect(store.stations.find('Q1ABC')?.frameCount).toBe(9_000)
    store.close()
  })

  it('are undone together where the commit fails, and done again', () => {
    const { sql, openFile } = commits()
    const { store, clock, file, faults } = opened(openFile)
    for (let count = 0; count < 9_000; count++) hear(store, 'Q1ABC', clock.wallMs())
    sql.push('fail')
    // the one commit that follows a BEGIN, which follows 'fail'
    clock.advanceBy(5_000)
    expect(faults.join()).toContain('no room')
    expect(seen(file)).toEqual({ frames: 0 })
    expect(store.state().pendingCount).toBe(18_000)
    clock.advanceBy(60_000)
    expect(seen(file)).toEqual({ frames: 9_000 })
    expect(store.state()).toMatchObject({ pendingCount: 0, counters: { droppedCount: 0 } })
    store.close()
    const again = openSqlite(file, { readOnly: true })
    expect(again.get('SELECT call FROM stations')).toEqual({ call: 'Q1ABC' })
    again.close()
  })
})
