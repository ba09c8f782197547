import { execFileSync } from 'node:child_process'
import { copyFileSync, readFileSync, statSync, truncateSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { type VirtualClock, virtualClock } from '../../src/runtime/virtualClock.js'
import {
  gatheredReader,
  gatherFileOf,
  openGatherFile,
  readGathered,
} from '../../src/store/gatherFile.js'
import { openStoreReader } from '../../src/store/readOnly.js'
import { openSqlite } from '../../src/store/sqliteDriver.js'
import type { Store } from '../../src/store/store.js'
import { openTestStore, temporaryFile } from './openTestStore.js'

const fail = (error: Error): never => {
  throw error
}
const open = (file: string, sizeBytes?: number) =>
  openGatherFile(file, { takenNumber: 0, onFault: fail, ...(sizeBytes ? { sizeBytes } : {}) })
const texts = (file: string) => readGathered(file).map(({ text }) => text)

describe('the gathering file', () => {
  it('gives back what was written, also to another process', () => {
    const name = temporaryFile('heard')
    const file = open(name)
    expect(file.append('one')).toBe(1)
    expect(file.append(`two ${'x'.repeat(50_000)}`)).toBe(2)
    expect(readGathered(name).map(({ number, text }) => [number, text.slice(0, 4)])).toEqual([
      [1, 'one'],
      [2, 'two '],
    ])
    file.close()
    const again = open(name)
    expect(again.takeFound()).toHaveLength(2)
    expect(again.append('three')).toBe(3)
    expect(texts(name)[2]).toBe('three')
    again.close()
  })

  it('has its size from the beginning, and says when it is full', () => {
    const name = temporaryFile('heard')
    const file = open(name, 3 * 4096)
    expect(statSync(name).size).toBe(3 * 4096)
    expect([1, 2, 3, 4].map((n) => file.append(`record ${n}`))).toEqual([1, 2, 3, undefined])
    expect(statSync(name).size).toBe(3 * 4096)
    file.beginAnew()
    expect(file.append('record 4')).toBe(4)
    // what is left of the former round is not read
    expect(texts(name)).toEqual(['record 4'])
    file.close()
  })

  it('another process reads again only what has come, and no round that the database has taken', () => {
    const name = temporaryFile('heard')
    const file = open(name, 8 * 4096)
    file.append('one')
    const records = gatheredReader(name)
    const first = records(0)
    expect(records(0)).toBe(first)
    file.append('two')
    expect(records(0).map(({ text }) => text)).toEqual(['one', 'two'])
    expect(records(0)[0]).toBe(first[0])
    expect(records(2)).toEqual([])
    file.beginAnew()
    file.append('three')
    expect(records(2).map(({ text }) => text)).toEqual(['three'])
    expect(records(0).map(({ text }) => text)).toEqual(['three'])
    file.close()
  })

  it('what it held is given once, and after it numbers go on', () => {
    const name = temporaryFile('heard')
    const file = open(name, 8 * 4096)
    expect(file.takeFound()).toEqual([])
    for (const text of ['one', 'two', 'three']) file.append(text)
    file.close()
    const again = open(name, 8 * 4096)
    expect(again.lastNumber).toBe(3)
    expect(again.takeFound().map(({ text }) => text)).toEqual(['one', 'two', 'three'])
    expect(again.takeFound()).toEqual([])
    expect(again.append('four')).toBe(4)
    expect([...again.recordsFrom(4)].map(({ text }) => text)).toEqual(['four'])
    again.close()
  })

  it('a file that was cut is filled up to its size, and a longer one stays as it is', () => {
    const name = temporaryFile('heard')
    const file = open(name, 4 * 4096)
    file.append('one')
    file.close()
    truncateSync(name, 4096 + 7)
    open(name, 4 * 4096).close()
    expect(statSync(name).size).toBe(4 * 4096)
    expect(texts(name)).toEqual(['one'])
    for (const sizeBytes of [4 * 4096, 2 * 4096]) {
      const before = statSync(name, { bigint: true }).mtimeNs
      open(name, sizeBytes).close()
      expect(statSync(name).size).toBe(4 * 4096)
      // not even written to
      expect(statSync(name, { bigint: true }).mtimeNs).toBe(before)
    }
  })

  it('where there is no file nothing was gathered; one that cannot be read is told', () => {
    expect(readGathered(temporaryFile('heard'))).toEqual([])
    const folder = dirname(temporaryFile('heard'))
    expect(() => readGathered(folder)).toThrow('EISDIR')
    expect(() => readGathered(join(folder, 'x'.repeat(300)))).toThrow('ENAMETOOLONG')
  })

  it('numbers go on above what the database has taken', () => {
    const file = openGatherFile(temporaryFile('heard'), { takenNumber: 70, onFault: fail })
    expect(file.append('x')).toBe(71)
    file.close()
  })

  it('a record that was torn, at any octet, ends it; those before it stay', () => {
    const name = temporaryFile('heard')
    const file = open(name, 8 * 4096)
    file.append('before')
    file.append('torn, as the power failed meanwhile')
    file.close()
    const whole = readFileSync(name)
    for (let octet = 4096; octet < 4096 + 64; octet++) {
      const damaged = Buffer.from(whole)
      damaged[octet]! ^= 0x55
      writeFileSync(name, damaged)
      const read = texts(name)
      expect([1, 2]).toContain(read.length)
      expect(read[0]).toBe('before')
      if (read.length === 2) expect(read[1]).toBe('torn, as the power failed meanwhile')
    }
    writeFileSync(name, whole)
    truncateSync(name, 4096 + 30)
    expect(texts(name)).toEqual(['before'])
    writeFileSync(name, Buffer.alloc(100, 0xff))
    expect(texts(name)).toEqual([])
  })
})

const hear = (store: Store, clock: VirtualClock, call: string): void => {
  const atWallMs = clock.wallMs()
  store.frames.add({
    ...{ heardAtWallMs: atWallMs, radio: 0, source: call, octets: Uint8Array.of(0, 255) },
    ...{ repairedBits: 0, detector: 'test' },
  })
  store.stations.add({ call, atWallMs, radio: 0, via: [], status: 'on the ridge' })
  store.events.add({ atWallMs, kind: 'heard', radio: 0, station: call, text: `from ${call}` })
}

/** The files as a power cut leaves them: what was written to them, without what a process would still have done. */
function cutOff(file: string): string {
  const copy = temporaryFile()
  for (const suffix of ['', '-wal', '-heard']) copyFileSync(file + suffix, copy + suffix)
  return copy
}

describe('what was gathered', () => {
  it('is there again after a crash half a minute later, once', () => {
    const file = temporaryFile()
    const { store, clock } = openTestStore(file)
    hear(store, clock, 'Q1ONE')
    clock.advanceBy(29_000)
    expect(openTestStore(cutOff(file)).store.events.query()).toEqual([])
    clock.advanceBy(1_000)
    hear(store, clock, 'Q2TWO')
    clock.advanceBy(30_000)

    const copy = cutOff(file)
    for (const _ of ['after the crash', 'after another start']) {
      const { store: again, faults } = openTestStore(copy, virtualClock(clock.wallMs()))
      expect(faults).toEqual([])
      expect(again.events.query().map(({ text }) => text)).toEqual(['from Q1ONE', 'from Q2TWO'])
      expect(again.frames.query().map(({ octets }) => octets)).toEqual([
        Uint8Array.of(0, 255),
        Uint8Array.of(0, 255),
      ])
      expect(again.stations.find('Q1ONE')).toMatchObject({ frameCount: 1, status: 'on the ridge' })
      again.close()
    }
    store.close()
  })

  it('comes neither twice nor never, whenever the power fails', () => {
    const file = temporaryFile()
    const { store, clock } = openTestStore(file)
    for (let count = 1; count <= 40; count++) {
      hear(store, clock, `Q${count % 10}ABC`)
      // a query brings some into the database, a message some others to the disk
      if (count % 7 === 0) store.events.query()
      if (count % 5 === 0) store.durably('a count', () => store.count('test'))
      if (count % 13 === 0) store.flush()
      clock.advanceBy(30_000)
      const { store: again } = openTestStore(cutOff(file), virtualClock(clock.wallMs()))
      expect(again.events.query().length).toBe(count)
      expect(again.frames.query().length).toBe(count)
      const frames = again.stations.recent(100).reduce((sum, { frameCount }) => sum + frameCount, 0)
      expect(frames).toBe(count)
      again.close()
    }
    store.close()
  })

  it('is whole when the database lost all that was not synced', () => {
    const file = temporaryFile()
    const { store, clock } = openTestStore(file)
    let synced = cutOff(file)
    for (let count = 1; count <= 30; count++) {
      hear(store, clock, `Q${count % 10}ABC`)
      store.events.query()
      if (count % 11 === 0) {
        store.durably('a count', () => store.count('test'))
        synced = cutOff(file)
      }
      clock.advanceBy(30_000)
      const copy = cutOff(file)
      for (const suffix of ['', '-wal']) copyFileSync(synced + suffix, copy + suffix)
      const { store: again } = openTestStore(copy, virtualClock(clock.wallMs()))
      expect(again.events.query().length).toBe(count)
      expect(again.stations.recent(100).reduce((sum, one) => sum + one.frameCount, 0)).toBe(count)
      again.close()
    }
    store.close()
  })

  it('stays gathered while retention looks for room each hour', () => {
    const file = temporaryFile()
    const { store, clock } = openTestStore(file)
    // the first look for what is old is over, the next one a day later
    clock.advanceBy(4 * 3_600_000)
    hear(store, clock, 'Q1ONE')
    clock.advanceBy(3 * 3_600_000)
    const database = openSqlite(file, { readOnly: true })
    expect(database.get('SELECT count(*) AS count FROM frames')).toEqual({ count: 0 })
    database.close()
    expect(store.frames.query()).toHaveLength(1)
    store.close()
  })

  it('of a conversation is on the disk within a second', () => {
    const file = temporaryFile()
    const { store, clock } = openTestStore(file)
    store.durably('a question', () => store.count('test'))
    store.events.add({ atWallMs: clock.wallMs(), kind: 'asked', text: 'sun' })
    clock.advanceBy(1_000)
    expect(openTestStore(cutOff(file)).store.events.query()).toHaveLength(1)
    store.close()
  })

  it('is seen by another process, in its order, with the numbers that it will have', () => {
    const file = temporaryFile()
    const { store, clock } = openTestStore(file)
    hear(store, clock, 'Q1ONE')
    store.flush()
    hear(store, clock, 'Q2TWO-1')
    clock.advanceBy(30_000)
    hear(store, clock, 'Q3NEW')
    const reader = openStoreReader(file, () => clock.wallMs())
    const seen = reader.events.query()
    expect(seen.map(({ id, text }) => [id, text])).toEqual([
      [1, 'from Q1ONE'],
      [2, 'from Q2TWO-1'],
    ])
    expect(reader.stations.recent(9).map(({ call }) => call)).toEqual(['Q2TWO-1', 'Q1ONE'])
    for (const filter of [
      { station: 'q2two' },
      { station: 'Q2TWO-1', kinds: ['heard'] },
      { afterId: 1 },
    ] as const)
      expect(reader.events.query(filter).map(({ id }) => id)).toEqual([2])
    for (const filter of [
      { station: 'Q2' },
      { kinds: ['asked'] },
      { radio: 1 },
      { reference: 'Q1' },
      { untilWallMs: 1 },
    ] as const)
      expect(reader.events.query(filter)).toEqual([])
    expect(reader.events.query({ limit: 1 }).map(({ id }) => id)).toEqual([2])
    expect(reader.events.count()).toEqual({ heard: 2 })
    store.flush()
    expect(
      store.events
        .query()
        .map(({ id, text }) => [id, text])
        .slice(0, 2),
    ).toEqual(seen.map(({ id, text }) => [id, text]))
    expect(reader.events.query()).toHaveLength(3)
    reader.close()
    store.close()
  })

  it('a flood is brought into the database in steps, without waiting', () => {
    const { store, clock } = openTestStore(temporaryFile())
    for (let count = 0; count < 9_000; count++) hear(store, clock, 'Q1ABC')
    expect(store.state().pendingCount).toBe(18_000)
    clock.advanceBy(1_000)
    // one transaction, whatever the number of its steps: a card gets each page once
    expect(store.state().pendingCount).toBe(18_000)
    clock.advanceBy(2_500)
    expect(store.state()).toMatchObject({ pendingCount: 0, counters: { droppedCount: 0 } })
    expect(store.stations.find('Q1ABC')?.frameCount).toBe(9_000)
    store.close()
  })

  it('an entry that the database does not take keeps no other one waiting', () => {
    const { store, clock, faults } = openTestStore(temporaryFile())
    hear(store, clock, 'Q1ONE')
    store.events.add({ atWallMs: Number.NaN, kind: 'heard', text: 'when?' })
    hear(store, clock, 'Q2TWO')
    expect(store.events.query().map(({ text }) => text)).toEqual(['from Q1ONE', 'from Q2TWO'])
    expect(faults.map(({ code }) => code)).toEqual(['store-refused'])
    expect(store.state().counters.droppedCount).toBe(1)
    store.close()
  })

  it('after the end is tried no more', () => {
    const { store, clock, faults } = openTestStore(temporaryFile())
    store.close()
    hear(store, clock, 'Q1ABC')
    clock.advanceBy(3_600_000)
    expect(faults).toEqual([])
    expect(store.state().counters).toMatchObject({ batchCount: 0, faultCount: 0 })
  })

  it.skipIf(process.getuid?.() !== 0)(
    'where the file cannot be made, goes into the database',
    () => {
      const file = temporaryFile()
      execFileSync('mkdir', [gatherFileOf(file)])
      const { store, clock, faults } = openTestStore(file)
      expect(faults).toHaveLength(1)
      hear(store, clock, 'Q1ONE')
      clock.advanceBy(30_000)
      const reader = openStoreReader(copyWithout(file), () => clock.wallMs())
      expect(reader.events.query()).toHaveLength(1)
      reader.close()
      store.close()
    },
  )
})

function copyWithout(file: string): string {
  const copy = temporaryFile()
  for (const suffix of ['', '-wal']) copyFileSync(file + suffix, copy + suffix)
  return copy
}

describe('a count of what was taken that is damaged', () => {
  it('counts again: what is heard is gathered, and found at the next start', () => {
    const file = temporaryFile()
    const add = (store: Store, text: string): void => {
      store.events.add({ atWallMs: 1_000, kind: 'fault', text })
      store.flush()
    }
    const { store } = openTestStore(file)
    add(store, 'before')
    store.close()
    const other = openSqlite(file)
    other.exec('UPDATE counters SET value = 9007199254740993')
    other.close()
    const { store: again, faults } = openTestStore(file)
    add(again, 'after')
    expect(faults).toEqual([])
    expect(texts(gatherFileOf(file)).join()).toContain('after')
    again.close()
  })
})
