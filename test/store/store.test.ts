import {
  chmodSync,
  chownSync,
  existsSync,
  readdirSync,
  readFileSync,
  statSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs'
import { basename, dirname, join } from 'node:path'
import { describe, expect, it } from 'vitest'
import type { Failure } from '../../src/runtime/failure.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { backupDatabase, checkDatabase, restoreDatabase } from '../../src/store/backup.js'
import { openDatabase } from '../../src/store/database.js'
import { eventTable } from '../../src/store/events.js'
import { gatherFileOf } from '../../src/store/gatherFile.js'
import { rowReader } from '../../src/store/rows.js'
import { migrations } from '../../src/store/schema.js'
import { openSqlite } from '../../src/store/sqliteDriver.js'
import type { Store } from '../../src/store/store.js'
import { openStore } from '../../src/store/store.js'
import { createWriter } from '../../src/store/writer.js'
import { collect } from './collect.js'
import { openTestStore, temporaryFile } from './openTestStore.js'

const askedAs = (number: string | undefined, text = 'help') => ({
  from: 'N0CALL-7',
  addressee: 'N0CALL-10',
  number,
  text,
  radio: 0,
  heardWallMs: 1_000,
  ownPart: 'abc',
})

const addQuestion = (store: Store, number: string | undefined) => {
  const kept = store.durably('a test', () => store.questions.insert(askedAs(number)))
  if (!kept.ok) throw kept.failure
  return kept.value
}

describe('store', () => {
  it('keeps what was written durably, without closing', () => {
    const file = temporaryFile()
    const { store } = openTestStore(file)
    const question = addQuestion(store, '12')
    // a second reader sees it while the first still has it open: it is in the file, not in the process
    const { store: second } = openTestStore(file)
    expect(second.questions.find(question.id)).toEqual(question)
    expect(second.questions.open()).toHaveLength(1)
    store.close()
    second.close()
  })

  it('a transaction that fails leaves nothing behind, and says so', () => {
    const { store, faults } = openTestStore()
    const result = store.durably('two things', () => {
      store.questions.insert(askedAs('1'))
      throw new Error('the second failed')
    })
    expect(result.ok).toBe(false)
    expect(store.questions.open()).toEqual([])
    expect(faults[0]?.message).toContain('two things')
  })

  it('a transaction within another is part of it', () => {
    const { store } = openTestStore()
    store.events.add({ atWallMs: 1, kind: 'heard', text: 'before' })
    const outer = store.durably('the outer', () => {
      store.events.add({ atWallMs: 2, kind: 'heard', text: 'inside' })
      store.questions.insert(askedAs('1'))
      return store.durably('the inner', () => store.questions.insert(askedAs('2'))).ok
    })
    expect(outer).toEqual({ ok: true, value: true })
    const failed = store.durably('the outer', () => {
      store.questions.insert(askedAs('3'))
      store.durably('the inner', () => {
        throw new Error('both are undone')
      })
    })
    expect(failed.ok).toBe(false)
    expect(store.questions.open().map(({ number }) => number)).toEqual(['1', '2'])
    expect(store.events.query().map(({ text }) => text)).toEqual(['before', 'inside'])
  })

  it('gathers what was heard for half a minute, and asks the disk for nothing meanwhile', () => {
    const { store, clock } = openTestStore(temporaryFile())
    for (let at = 0; at < 100_000; at += 100) {
      clock.advanceTo(at)
      store.frames.add({
        heardAtWallMs: clock.wallMs(),
        radio: 0,
        source: 'N0CALL-7',
        octets: Uint8Array.of(1, 2, 3),
        repairedBits: 0,
        detector: 'test',
      })
      store.stations.add({ call: 'N0CALL-7', atWallMs: clock.wallMs(), radio: 0, via: [] })
    }
    const { counters, pendingCount } = store.state()
    expect(counters).toMatchObject({ batchCount: 3, durableCount: 0 })
    expect(pendingCount).toBe(1000)
    expect(store.frames.query({ limit: 5000 })).toHaveLength(1000)
    store.close()
  })

  it('finds events by time, station, kind and reference, oldest first', () => {
    const { store } = openTestStore()
    const add = (atWallMs: number, kind: 'heard' | 'asked', station: string, reference?: string) =>
      store.events.add({ atWallMs, kind, station, reference, text: `${kind} ${station}` })
    add(1, 'heard', 'N0CALL-7')
    add(2, 'asked', 'N0CALL', 'Q1')
    add(3, 'heard', 'N0CALLX')
    add(4, 'heard', 'N0CALL-9')
    const texts = (filter: Parameters<typeof store.events.query>[0]) =>
      store.events.query(filter).map((event) => event.atWallMs)
    expect(texts({})).toEqual([1, 2, 3, 4])
    expect(texts({ station: 'n0call' })).toEqual([1, 2, 4])
    expect(texts({ station: 'N0CALL-9' })).toEqual([4])
    expect(texts({ kinds: ['heard'], sinceWallMs: 2 })).toEqual([3, 4])
    expect(texts({ untilWallMs: 3 })).toEqual([1, 2])
    expect(texts({ reference: 'Q1' })).toEqual([2])
    expect(texts({ limit: 2 })).toEqual([3, 4])
    expect(store.events.count()).toEqual({ heard: 3, asked: 1 })
  })

  it('remembers stations over a restart, and drops the one not heard for longest', () => {
    const file = temporaryFile()
    const { store, clock } = openTestStore(file)
    store.stations.add({
      call: 'N0CALL-7',
      atWallMs: clock.wallMs(),
      radio: 0,
      via: ['DIGI1'],
      position: { latitudeDeg: 46.5, longitudeDeg: 8.25 },
      weather: { temperatureC: 4 },
    })
    store.stations.add({ call: 'N0CALL-8', atWallMs: clock.wallMs() + 1, radio: 0, via: [] })
    store.close()
    const { store: again } = openTestStore(file)
    expect(again.stations.recent(10).map(({ call }) => call)).toEqual(['N0CALL-8', 'N0CALL-7'])
    expect(again.stations.find('n0call-7')).toMatchObject({
      position: { latitudeDeg: 46.5, longitudeDeg: 8.25 },
      via: ['DIGI1'],
      frameCount: 1,
    })
    expect(again.stations.weather(1000)[0]).toMatchObject({ call: 'N0CALL-7', temperatureC: 4 })
    again.close()
    const small = openStore({ file, clock, stationsMax: 2 })
    small.stations.add({ call: 'N0CALL-9', atWallMs: clock.wallMs() + 2, radio: 0, via: [] })
    expect(small.stations.recent(10).map(({ call }) => call)).toEqual(['N0CALL-9', 'N0CALL-8'])
    small.close()
  })

  it('removes nothing for its age while the clock is not trusted', () => {
    const weekMs = 7 * 86_400_000
    const inner = virtualClock()
    let setByMs = 0
    const clock = { ...inner, wallMs: () => inner.wallMs() + setByMs }
    const store = openStore({
      file: ':memory:',
      clock,
      retention: { keepMs: weekMs, keepStationsMs: weekMs, sizeBytesMax: 1e9 },
    })
    const heard = { radio: 0, source: 'N0CALL-7', octets: new Uint8Array(20), repairedBits: 0 }
    store.frames.add({ ...heard, heardAtWallMs: clock.wallMs(), detector: 'test' })
    store.stations.add({ call: 'N0CALL-7', atWallMs: clock.wallMs(), radio: 0, via: [] })
    clock.advanceBy(2 * 3_600_000 - 60_000)
    setByMs = 90 * 86_400_000
    clock.advanceBy(30 * 60_000)
    expect(store.frames.query()).toHaveLength(1)
    expect(store.stations.count).toBe(1)
    setByMs = 0
    clock.advanceBy(3 * 86_400_000)
    expect(store.frames.query()).toHaveLength(1)
    clock.advanceBy(5 * 86_400_000)
    expect(store.frames.query()).toEqual([])
    store.close()
  })
})

describe('a database that is not as it should be', () => {
  it('is set aside when damaged, with a message, and the node goes on with a new one', () => {
    const file = temporaryFile()
    const { store } = openTestStore(file)
    for (let index = 0; index < 1_500; index++) addQuestion(store, String(index))
    store.close()
    const octets = readFileSync(file)
    octets.fill(0x5a, 1024, octets.length)
    writeFileSync(file, octets)

    const { store: again, faults } = openTestStore(file)
    expect(faults).toHaveLength(1)
    expect(faults[0]?.code).toBe('store-damaged')
    expect(faults[0]?.message).toMatch(/set aside as .*node\.db\.damaged-20260101T000000Z/)
    expect(addQuestion(again, '1').id).toBe(1)
    again.close()
    const kept = readdirSync(dirname(file)).find((name) => name.includes('damaged-'))
    expect(kept).toBeDefined()
  })

  it('is set aside when it is damaged while in use', () => {
    const file = temporaryFile()
    const { store, faults } = openTestStore(file)
    for (let index = 0; index < 2000; index++) addQuestion(store, String(index))
    // the log written back and emptied, and then the pages underneath destroyed
    const other = openSqlite(file)
    other.pragma('wal_checkpoint(TRUNCATE)')
    other.close()
    const octets = readFileSync(file)
    octets.fill(0x5a, 4096, octets.length)
    writeFileSync(file, octets)
    let kept = 0
    for (let index = 0; index < 50; index++) {
      const result = store.durably('a question', () => store.questions.insert(askedAs(`n${index}`)))
      if (result.ok) kept++
    }
    expect(kept).toBe(50)
    expect(faults.map(({ code }) => code)).toContain('store-damaged')
    store.close()
    expect(checkDatabase(file).version).toBe(migrations.length)
  })

  it('of a later version is refused, untouched', () => {
    const file = temporaryFile()
    openTestStore(file).store.close()
    const sqlite = openSqlite(file)
    sqlite.exec('PRAGMA user_version = 99')
    sqlite.close()
    expect(() => openTestStore(file)).toThrow(/version 99.*version \d+ or below/)
    expect(existsSync(file)).toBe(true)
  })

  it('that cannot be made at all is told, and the node goes on without, where that is wanted', () => {
    // a file where the folder should be: no user may make anything under it, root neither
    const file = `${temporaryFile()}/node.db`
    writeFileSync(dirname(file), 'a file')
    expect(() => openStore({ file, clock: virtualClock() })).toThrow(/node\.db: opening it/)
    const faults: string[] = []
    const store = openStore({
      file,
      clock: virtualClock(),
      whenUnusable: 'memory',
      onFault: (failure) => faults.push(failure.message),
    })
    expect(faults.join()).toMatch(/permissions of the folder.*no mail is taken/)
    expect(store.degraded).toBe(true)
    expect(addQuestion(store, '1').id).toBe(1)
    store.close()
  })

  it('a full disk ends nothing: faults are told once a minute, what waits is written when there is room', () => {
    const clock = virtualClock()
    const faults: string[] = []
    const onFault = (failure: Failure) => faults.push(failure.code)
    const database = openDatabase({ file: temporaryFile(), onFault, wallMs: clock.wallMs })
    const writer = createWriter(database, {
      clock,
      onFault,
      flushIntervalMs: 1_000,
      pendingMax: 50,
    })
    const events = eventTable(database, writer, rowReader(database, onFault))
    // SQLite's own limit answers as a full disk does: SQLITE_FULL
    const pages = database.get<{ page_count: number }>('PRAGMA page_count')!.page_count
    database.get(`PRAGMA max_page_count = ${pages}`)
    const text = 'x'.repeat(3_000)
    for (let atWallMs = 0; atWallMs < 60; atWallMs++) events.add({ atWallMs, kind: 'heard', text })
    clock.advanceBy(30_000)
    const kept = writer.durably('a question', () =>
      database.run('INSERT INTO counters VALUES (?, 1)', 'a long name '.repeat(1_000)),
    )
    expect(kept.ok).toBe(false)
    expect(faults).toEqual(['store-full'])
    expect(writer.counters.faultCount).toBeGreaterThan(20)
    expect(writer.counters.droppedCount).toBe(10)
    database.get('PRAGMA max_page_count = 100000')
    clock.advanceBy(1_000)
    expect(events.query().map(({ atWallMs }) => atWallMs)).toEqual(
      Array.from({ length: 50 }, (_, index) => index + 10),
    )
    database.close()
  })
})

describe('back-up and restore', () => {
  it('copies while in use, and restores with the former kept', async () => {
    const file = temporaryFile()
    const backup = `${file}.copy`
    const { store } = openTestStore(file)
    addQuestion(store, '1')
    const summary = await backupDatabase(file, backup, { clock: virtualClock() })
    expect(summary).toMatchObject({ file: backup, version: migrations.length })
    addQuestion(store, '2')
    await expect(restoreDatabase(backup, file, virtualClock(0))).rejects.toThrow(
      /another process has open/,
    )
    store.close()
    await collect()
    const restored = await restoreDatabase(backup, file, virtualClock(0))
    expect(restored.formerFile).toBe(`${file}.before-restore-19700101T000000Z`)
    const { store: again } = openTestStore(file)
    expect(again.questions.open().map(({ number }) => number)).toEqual(['1'])
    again.close()
  })

  it.skipIf(process.getuid?.() !== 0)('as root leaves the database with its owner', async () => {
    const file = temporaryFile()
    openTestStore(file).store.close()
    await collect()
    chownSync(file, 12_345, 12_346)
    chmodSync(file, 0o640)
    await backupDatabase(file, `${file}.copy`, { clock: virtualClock() })
    await collect()
    await restoreDatabase(`${file}.copy`, file, virtualClock(0))
    const { uid, gid, mode } = statSync(file)
    expect([uid, gid, mode & 0o777]).toEqual([12_345, 12_346, 0o640])
  })

  it('refuses to put a copy in the place of what the node has open, however that is named', async () => {
    const file = temporaryFile()
    const { store } = openTestStore(file)
    addQuestion(store, '1')
    const link = `${file}.folder`
    symlinkSync(dirname(file), link)
    const names = [file, join(link, basename(file)), `${file}-wal`, `${file}-shm`]
    for (const name of names)
      await expect(backupDatabase(file, name, { clock: virtualClock() })).rejects.toThrow(
        /what the node has open, expected another file/,
      )
    await expect(
      backupDatabase(file, gatherFileOf(file), { clock: virtualClock() }),
    ).rejects.toThrow(/another file/)
    addQuestion(store, '2')
    expect(store.questions.open().map(({ number }) => number)).toEqual(['1', '2'])
    store.close()
    expect(checkDatabase(file).version).toBe(migrations.length)
  })

  it('refuses what is no sound back-up, and leaves the database as it was', async () => {
    const file = temporaryFile()
    const { store } = openTestStore(file)
    for (let index = 0; index < 500; index++) addQuestion(store, String(index))
    await backupDatabase(file, `${file}.bad`, { clock: virtualClock() })
    store.close()
    const octets = readFileSync(`${file}.bad`)
    octets.fill(0x5a, 8192, 16384)
    writeFileSync(`${file}.bad`, octets)
    await expect(restoreDatabase(`${file}.bad`, file, virtualClock(0))).rejects.toThrow(
      /it is damaged; use another back-up/,
    )
    writeFileSync(
      `${file}.text`,
      'a letter to a friend, long enough to have a header of its own'.repeat(9),
    )
    await expect(restoreDatabase(`${file}.text`, file, virtualClock(0))).rejects.toThrow(
      /got a file of another kind, expected a database of this node/,
    )
    await expect(restoreDatabase(`${file}.none`, file, virtualClock(0))).rejects.toThrow(
      /no such file/,
    )
    expect(checkDatabase(file).version).toBe(migrations.length)
  })
})
