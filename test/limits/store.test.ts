import { describe, expect, it } from 'vitest'
import { type VirtualClock, virtualClock } from '../../src/runtime/virtualClock.js'
import { openStore, type Store } from '../../src/store/store.js'
import { defaultStoreOptions, openTestStore } from '../store/openTestStore.js'

/** Each limit of the database at n, and one beyond it. */

const trusted = {
  confirmed: () => true,
  trusted: () => true,
  steps: { count: 0, lastMs: 0 },
  gpsSays: () => {},
  wasAhead: () => {},
}
const hourMs = 3_600_000
const dayMs = 24 * hourMs

function opened(retention: object, clock: VirtualClock): Store {
  const options = defaultStoreOptions(clock)
  return openStore({
    ...{ ...options, clockTrust: trusted, flushIntervalMs: 1_000 },
    retention: { ...options.retention!, ...retention },
  })
}

const frameAt = (heardAtWallMs: number, octetCount = 20) => ({
  ...{ heardAtWallMs, radio: 0, source: 'Q1ABC', octets: new Uint8Array(octetCount) },
  ...{ repairedBits: 0, detector: 'test' },
})

const ask = (store: Store, clock: VirtualClock, from = 'Q1ABC') => {
  const asked = store.durably('a question', () =>
    store.questions.insert({
      ...{ from, addressee: 'N0DE', number: '1', text: 'sun', radio: 0, ownPart: 'x' },
      heardWallMs: clock.wallMs(),
    }),
  )
  if (!asked.ok) throw asked.failure
  return asked.value
}

describe('retention', () => {
  it.each([
    // it is looked for the first time after an hour
    ['frames', { keepMs: dayMs }, (store: Store) => store.frames.query().length],
    ['stations', { keepStationsMs: dayMs }, (store: Store) => store.stations.count],
  ])('%s are kept for their time, and no longer', (_, retention, countOf) => {
    const leftOf = (ageMs: number): number => {
      const clock = virtualClock(100 * dayMs)
      const store = opened(retention, clock)
      const atWallMs = clock.wallMs() + hourMs - ageMs
      store.frames.add(frameAt(atWallMs))
      store.stations.add({ call: 'Q1ABC', atWallMs, radio: 0, via: [] })
      clock.advanceBy(hourMs)
      const left = countOf(store)
      store.close()
      return left
    }
    expect([leftOf(dayMs), leftOf(dayMs + 1)]).toEqual([1, 0])
  })

  it('the first look is after an hour, the next a day later', () => {
    const clock = virtualClock(100 * dayMs)
    const store = opened({ keepMs: 1 }, clock)
    store.frames.add(frameAt(0))
    clock.advanceBy(hourMs - 1)
    expect(store.frames.query()).toHaveLength(1)
    clock.advanceBy(1)
    expect(store.frames.query()).toHaveLength(0)
    // a step that removed something is followed by another
    clock.advanceBy(2_000)
    store.frames.add(frameAt(0))
    clock.advanceBy(dayMs - 1)
    expect(store.frames.query()).toHaveLength(1)
    clock.advanceBy(1)
    expect(store.frames.query()).toHaveLength(0)
    store.close()
  })

  it('a step removes a thousand rows, the next comes 2 s later', () => {
    const clock = virtualClock(100 * dayMs)
    const store = opened({ keepMs: dayMs }, clock)
    for (let index = 0; index < 1_001; index++) store.frames.add(frameAt(0))
    clock.advanceBy(hourMs)
    expect(store.frames.query({ limit: 9_999 })).toHaveLength(1)
    clock.advanceBy(1_999)
    expect(store.frames.query()).toHaveLength(1)
    clock.advanceBy(1)
    expect(store.frames.query()).toHaveLength(0)
    store.close()
  })

  it('room is made above the size, not at it', () => {
    const atWallMs = 98 * dayMs
    const removed = (spareBytes: number): boolean => {
      const clock = virtualClock(100 * dayMs)
      const store = opened({}, clock)
      for (let index = 0; index < 500; index++) store.frames.add(frameAt(atWallMs, 200))
      // What the store writes by itself until the first look counts too.
      clock.advanceBy(hourMs)
      store.flush()
      const { usedBytes } = store.state()
      store.close()
      const again = opened({ sizeBytesMax: usedBytes + spareBytes }, clock)
      for (let index = 0; index < 500; index++) again.frames.add(frameAt(atWallMs, 200))
      clock.advanceBy(hourMs)
      const left = again.frames.query({ limit: 9_999 }).length
      again.close()
      return left < 500
    }
    expect([removed(0), removed(-1)]).toEqual([false, true])
  })
})

describe('what was heard', () => {
  it('waits for the flush interval, and no longer', () => {
    const clock = virtualClock()
    const { store } = openTestStore(undefined, clock)
    store.frames.add(frameAt(0))
    clock.advanceBy(29_999)
    expect(store.state()).toMatchObject({ pendingCount: 1, counters: { batchCount: 0 } })
    clock.advanceBy(1)
    expect(store.state()).toMatchObject({ pendingCount: 0, counters: { batchCount: 1 } })
    store.close()
  })

  it('follows a message on the disk within a second', () => {
    const clock = virtualClock()
    const { store } = openTestStore(undefined, clock)
    store.frames.add(frameAt(0))
    ask(store, clock)
    clock.advanceBy(999)
    expect(store.state().pendingCount).toBe(1)
    clock.advanceBy(1)
    expect(store.state().pendingCount).toBe(0)
    store.close()
  })

  it('20,000 stations are remembered', () => {
    const { store } = openTestStore()
    for (let index = 0; index < 20_001; index++)
      store.stations.add({ call: `Q${index}`, atWallMs: index, radio: 0, via: [] })
    expect(store.stations.count).toBe(20_000)
    expect([store.stations.find('Q0'), store.stations.find('Q1')?.call]).toEqual([undefined, 'Q1'])
    store.close()
  })

  it('of a station eight signals, and the frames of 24 hours', () => {
    const { store } = openTestStore()
    const quality = {
      ...{ levelDbfs: -20, toneBalanceDb: 0, toneOffsetHz: 0, symbolRateErrorPpm: 0 },
      ...{ ebN0Db: 20, eyeOpening: 1, clippedShare: 0, preambleFlags: 30 },
    }
    for (let hour = 0; hour < 26; hour++)
      store.stations.add({ call: 'Q1', atWallMs: hour * hourMs, radio: 0, via: [], quality })
    expect(store.stations.signals('Q1', 99)).toHaveLength(8)
    const counts = store.stations.hourlyCounts('Q1', 30, 25 * hourMs)!
    expect(counts.reduce((sum, one) => sum + one, 0)).toBe(24)
    store.close()
  })
})

describe('questions', () => {
  it('are copies up to the end of their window', () => {
    const clock = virtualClock()
    const { store } = openTestStore(undefined, clock)
    ask(store, clock)
    clock.advanceBy(1_000)
    expect(store.questions.findCopy('Q1ABC', '1', 'sun', 1_000)).toBeDefined()
    expect(store.questions.findCopy('Q1ABC', '1', 'sun', 999)).toBeUndefined()
    store.close()
  })
})

describe('the mailbox', () => {
  it('what has reached its time has expired', () => {
    const { store } = openTestStore()
    store.durably('mail', () =>
      store.mailbox.insert({
        ...{ questionId: 'Q1', from: 'Q1', to: 'Q2', text: 'hello', expiryTrusted: true },
        ...{ leftWallMs: 0, expiresWallMs: 1_000 },
      }),
    )
    const expired = (wallMs: number) => store.mailbox.expired(wallMs, 9).length
    expect([expired(999), expired(1_000)]).toEqual([0, 1])
    store.close()
  })

  it('a notice is gone when its time is over', () => {
    const { store } = openTestStore()
    store.durably('a notice', () =>
      store.notices.insert({
        ...{ questionId: 'Q1', from: 'Q1', text: 'hello', expiryTrusted: true },
        ...{ postedWallMs: 0, expiresWallMs: 1_000 },
      }),
    )
    const shown = (wallMs: number) => store.notices.current(wallMs, 9).length
    expect([shown(999), shown(1_000)]).toEqual([1, 0])
    store.close()
  })
})
