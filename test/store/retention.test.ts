import { describe, expect, it } from 'vitest'
import { type VirtualClock, virtualClock } from '../../src/runtime/virtualClock.js'
import type { RetentionOptions } from '../../src/store/retention.js'
import { openSqlite } from '../../src/store/sqliteDriver.js'
import { openStore, type Store } from '../../src/store/store.js'
import { defaultStoreOptions, temporaryFile } from './openTestStore.js'

const hourMs = 3_600_000
const dayMs = 24 * hourMs
const trusted = { trusted: () => true, steps: { count: 0, lastMs: 0 } } as const

function opened(
  retention: Partial<RetentionOptions>,
  clock: VirtualClock,
  file = ':memory:',
): Store {
  const clockTrust = trusted as never
  const options = defaultStoreOptions(clock)
  return openStore({
    ...{ ...options, file, clockTrust, flushIntervalMs: 1_000 },
    retention: { ...options.retention!, ...retention },
  })
}

const frame = (atWallMs: number) => ({
  ...{ heardAtWallMs: atWallMs, radio: 0, source: 'Q1ABC', octets: new Uint8Array(200) },
  ...{ repairedBits: 0, detector: 'test' },
})

function addHour(store: Store, atWallMs: number, count: number): void {
  for (let index = 0; index < count; index++) {
    store.frames.add(frame(atWallMs))
    store.events.add({ atWallMs, kind: 'heard', station: 'Q1ABC', text: 'position' })
  }
  store.durably('questions', () => {
    const question = store.questions.insert({
      ...{ from: 'Q1ABC', addressee: 'N0DE', number: '1', text: 'sun', radio: 0 },
      ...{ heardWallMs: atWallMs, ownPart: 'x' },
    })
    store.questions.end(question.id, 'answered', atWallMs)
  })
}

const oldestMs = (store: Store): number[] => [
  store.frames.query({ limit: 1_000_000 })[0]!.heardAtWallMs,
  [...store.events.each()][0]!.atWallMs,
  store.questions.recent(100_000)[0]!.heardWallMs,
]

describe('retention', () => {
  it('removes what is past its time, once a day, in short steps', () => {
    const clock = virtualClock()
    const store = opened({ keepMs: 2 * dayMs }, clock)
    for (let hour = 0; hour < 24; hour++) {
      addHour(store, clock.wallMs(), 100)
      clock.advanceBy(hourMs)
    }
    expect(store.frames.query({ limit: 9_999 })).toHaveLength(2_400)
    clock.advanceBy(2 * dayMs)
    expect(store.frames.query({ limit: 9_999 }).length).toBe(2_200)
    clock.advanceBy(dayMs)
    expect(store.frames.query()).toEqual([])
    expect(store.events.query()).toEqual([])
    expect(store.questions.recent(9)).toEqual([])
    store.close()
  })

  it('a step removes a thousand rows, and the next waits', () => {
    const clock = virtualClock()
    const store = opened({ keepMs: dayMs }, clock)
    addHour(store, clock.wallMs(), 3_000)
    const count = () => store.frames.query({ limit: 9_999 }).length
    clock.advanceBy(25 * hourMs)
    const counts = [count()]
    while (counts.at(-1)! > 0 && counts.length < 9) {
      clock.advanceBy(2_000)
      counts.push(count())
    }
    expect(counts).toEqual([2_000, 1_000, 0])
    store.close()
  })

  it('makes room by the oldest hours of every kind together', () => {
    const clock = virtualClock()
    const store = opened({ sizeBytesMax: 3e6 }, clock)
    for (let hour = 0; hour < 72; hour++) {
      addHour(store, clock.wallMs(), 200)
      clock.advanceBy(hourMs)
    }
    clock.advanceBy(hourMs)
    expect(store.state().usedBytes).toBeLessThan(3e6)
    const [frames, events, questions] = oldestMs(store) as [number, number, number]
    expect(frames).toBeGreaterThan(clock.wallMs() - 70 * hourMs)
    expect(Math.abs(frames - events)).toBeLessThanOrEqual(hourMs)
    expect(Math.abs(frames - questions)).toBeLessThanOrEqual(hourMs)
    store.close()
  })

  it('keeps the last day of the log with 20,000 stations and the smallest limit', () => {
    const clock = virtualClock()
    const file = temporaryFile()
    const store = opened({ sizeBytesMax: 5e6 }, clock, file)
    for (let index = 0; index < 20_000; index++)
      store.stations.add({
        ...{ call: `Q${index}`, atWallMs: clock.wallMs(), radio: 0, via: [] },
        status: 'a station with something to say about itself, at some length',
      })
    for (let hour = 0; hour < 48; hour++) {
      addHour(store, clock.wallMs(), 700)
      // half of the stations are still on the air
      for (let index = 0; index < 10_000; index += 40)
        store.stations.add({ call: `Q${index}`, atWallMs: clock.wallMs(), radio: 0, via: [] })
      clock.advanceBy(hourMs)
    }
    clock.advanceBy(2 * hourMs)
    for (const oldest of oldestMs(store)) {
      expect(oldest).toBeLessThanOrEqual(clock.wallMs() - 23 * hourMs)
      expect(oldest).toBeGreaterThan(clock.wallMs() - 27 * hourMs)
    }
    expect(store.stations.count).toBe(250)
    store.close()
  }, 60_000)

  it('removes nothing of the last day, however large it is, nor what lies ahead', () => {
    const clock = virtualClock()
    const store = opened({ sizeBytesMax: 400_000 }, clock)
    addHour(store, clock.wallMs(), 3_000)
    addHour(store, clock.wallMs() + 900 * dayMs, 10)
    clock.advanceBy(20 * hourMs)
    expect(store.frames.query({ limit: 9_999 })).toHaveLength(3_010)
    clock.advanceBy(9 * hourMs)
    expect(store.frames.query({ limit: 9_999 })).toHaveLength(10)
    store.close()
  })

  it('open questions and mail stay, whatever their age', () => {
    const clock = virtualClock()
    const store = opened({ keepMs: dayMs }, clock)
    store.durably('what is open', () => {
      store.questions.insert({
        ...{ from: 'Q1ABC', addressee: 'N0DE', number: '1', text: 'sun', radio: 0 },
        ...{ heardWallMs: clock.wallMs(), ownPart: 'x' },
      })
      store.mailbox.insert({
        ...{ questionId: 'Q1', from: 'Q1ABC', to: 'Q2ABC', text: 'hello', expiryTrusted: true },
        ...{ leftWallMs: clock.wallMs(), expiresWallMs: clock.wallMs() + 90 * dayMs },
      })
    })
    clock.advanceBy(40 * dayMs)
    expect(store.questions.open()).toHaveLength(1)
    expect(store.mailbox.openCount).toBe(1)
    store.close()
  })
})

describe('room that was made', () => {
  const pages = (file: string): { all: number; free: number } => {
    const sqlite = openSqlite(file)
    const [all, free] = ['page_count', 'freelist_count'].map((name) => sqlite.pragma<number>(name)!)
    sqlite.close()
    return { all: all!, free: free! }
  }

  it('does not count as used', () => {
    const clock = virtualClock()
    const store = opened({ keepMs: dayMs }, clock)
    addHour(store, clock.wallMs(), 900)
    store.frames.query()
    const before = store.state().usedBytes
    clock.advanceBy(30 * hourMs)
    expect(store.frames.query()).toEqual([])
    expect(store.state().usedBytes).toBeLessThan(before - 100_000)
    store.close()
  })

  it('is handed back to the disk', () => {
    const clock = virtualClock()
    const file = temporaryFile()
    const store = opened({ keepMs: 2 * dayMs }, clock, file)
    for (let hour = 0; hour < 3; hour++) addHour(store, clock.wallMs(), 900)
    // by then it is in its tables
    clock.advanceBy(dayMs)
    const full = pages(file).all
    clock.advanceBy(3 * dayMs)
    store.close()
    const { all, free } = pages(file)
    expect(all).toBeLessThan(full / 3)
    expect(free).toBeLessThan(20)
  })

  it('a step takes a thousand rows of all tables together', () => {
    const clock = virtualClock()
    const store = opened({ keepMs: dayMs }, clock)
    // 600 frames and 600 events, and a question
    addHour(store, clock.wallMs(), 600)
    clock.advanceBy(25 * hourMs)
    const left = store.frames.query({ limit: 9_999 }).length + [...store.events.each()].length
    expect(left).toBe(200)
    store.close()
  })

  it('goes on where only stations are left to go', () => {
    const clock = virtualClock(100 * dayMs)
    const store = opened({ sizeBytesMax: 1 }, clock)
    for (const daysAgo of [4, 3.5, 3, 2.5])
      store.stations.add({
        ...{ call: `Q${daysAgo}`, atWallMs: clock.wallMs() - daysAgo * dayMs, radio: 0, via: [] },
      })
    clock.advanceBy(hourMs + 10_000)
    expect(store.stations.count).toBe(0)
    store.close()
  })

  it('is not looked for any more when the database is closed', () => {
    const clock = virtualClock()
    const faults: string[] = []
    const options = defaultStoreOptions(clock)
    const store = openStore({ ...options, onFault: ({ message }) => faults.push(message) })
    store.close()
    clock.advanceBy(3 * hourMs)
    expect(faults).toEqual([])
  })
})

describe('a station', () => {
  it('takes less than 1.5 kB of the file, with all that can be known of it', () => {
    const clock = virtualClock()
    const file = temporaryFile()
    const store = opened({}, clock, file)
    const quality = {
      ...{ levelDbfs: -23.456789, toneBalanceDb: -3.456789, toneOffsetHz: -23.456789 },
      ...{ symbolRateErrorPpm: -123.456789, ebN0Db: 12.3456789, eyeOpening: 0.456789 },
      ...{ clippedShare: 0.0123456, preambleFlags: 37 },
    }
    const stationCount = 2_000
    for (let round = 0; round < 26; round++) {
      for (let index = 0; index < stationCount; index++)
        store.stations.add({
          ...{ call: `Q${index}-10`, atWallMs: clock.wallMs() + index * 997, radio: 3, quality },
          ...{ via: round % 3 === 0 ? ['Q1DIGI-10', 'Q2DIGI-11', 'WIDE2-1'] : [], symbol: '/_' },
          position: { latitudeDeg: 45.123456 + index / 1000, longitudeDeg: -36.123456 },
          status: 'a status text of the greatest length that the APRS reference allows',
          weather: {
            ...{ temperatureC: -11.111111, windDirectionDeg: 359, windSpeedMps: 12.345678 },
            ...{ windGustMps: 23.456789, rainLastHourMm: 1.234567, rainLastDayMm: 12.345678 },
            ...{ humidityPercent: 99, pressureHpa: 1013.25 },
          },
        })
      clock.advanceBy(hourMs)
    }
    store.close()
    const sqlite = openSqlite(file)
    sqlite.exec('VACUUM')
    const whole = sqlite.pragma<number>('page_count')! * sqlite.pragma<number>('page_size')!
    sqlite.exec('DELETE FROM stations; VACUUM')
    const without = sqlite.pragma<number>('page_count')! * sqlite.pragma<number>('page_size')!
    sqlite.close()
    expect((whole - without) / stationCount).toBeLessThan(1_500)
  })

  it('is the same after a restart, but for what was rounded', () => {
    const clock = virtualClock(1_790_000_000_000)
    const file = temporaryFile()
    const store = opened({}, clock, file)
    const quality = {
      ...{ levelDbfs: -23.5, toneBalanceDb: -3.5, toneOffsetHz: -23, symbolRateErrorPpm: -123 },
      ...{ ebN0Db: 12.3, eyeOpening: 0.46, clippedShare: 0.012, preambleFlags: 37 },
    }
    for (let round = 0; round < 30; round++) {
      store.stations.add({
        ...{ call: 'Q7', atWallMs: clock.wallMs(), radio: 3, quality, via: [], symbol: '/_' },
        position: { latitudeDeg: 45.12345, longitudeDeg: -36.12345 },
        ...(round < 20 ? { weather: { temperatureC: -11.25, pressureHpa: 1013.25 } } : {}),
      })
      clock.advanceBy(20 * 60_000)
    }
    const facts = (one: Store) => ({
      station: one.stations.find('Q7'),
      signals: one.stations.signals('Q7', 9),
      hours: one.stations.hourlyCounts('Q7', 24, clock.wallMs()),
      weather: one.stations.weather(dayMs),
    })
    const before = facts(store)
    expect(before.hours?.filter((count) => count > 0)).toHaveLength(10)
    store.close()
    const again = opened({}, clock, file)
    expect(facts(again)).toEqual(before)
    again.close()
  })
})
