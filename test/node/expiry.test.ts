import { describe, expect, it } from 'vitest'
import { startExpiry } from '../../src/node/expiry.js'
import type { Mail } from '../../src/node/mail.js'
import type { ClockTrust } from '../../src/runtime/clockTrust.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import type { NodeEvent } from '../../src/store/events.js'
import { openStore } from '../../src/store/store.js'
import { failingStore } from './failingStore.js'
import { dayMs, hourMs, minuteMs } from './mailBench.js'
import { trustedClock } from './trustedClock.js'

function bench(trusted = true) {
  const clock = virtualClock()
  const store = openStore({ file: ':memory:', clock })
  const world = { trusted, failing: '', steps: { count: 3, lastMs: 0 }, expired: 0 }
  const events: Omit<NodeEvent, 'atWallMs'>[] = []
  const trust: ClockTrust = {
    ...trustedClock,
    trusted: () => world.trusted,
    get steps() {
      return world.steps
    },
  }
  const stop = startExpiry({
    ...{ clock, clockTrust: trust },
    store: failingStore(store, (doing) => doing === world.failing),
    note: (kind, text, detail) => void events.push({ kind, text, ...detail }),
    mail: { expire: () => void world.expired++ } as Partial<Mail> as Mail,
    options: defaultNodeOptions({
      ...{ mailbox: { keepMs: 2 * dayMs }, notices: { keepMs: 3 * dayMs } },
    }),
  })
  const durably = <Value>(work: () => Value): Value => {
    const done = store.durably('test', work)
    if (!done.ok) throw done.failure
    return done.value
  }
  const untrusted = { text: 'x', from: 'Q1ABC', expiresWallMs: 5, expiryTrusted: false } as const
  const wait = (count: number, kind: 'mail' | 'notice' | 'letter'): void =>
    durably(() => {
      for (let index = 0; index < count; index++) {
        const questionId = `${kind} ${index}`
        if (kind === 'mail')
          store.mailbox.insert({ ...untrusted, questionId, to: 'Q2ABC', leftWallMs: 1 })
        else if (kind === 'notice')
          store.notices.insert({ ...untrusted, questionId, postedWallMs: 1 })
        else store.letters.insert({ ...untrusted, to: 'Q2ABC', subject: 's', leftWallMs: 1 })
      }
    })
  const left = (): number =>
    store.mailbox.untrustedCount + store.notices.untrustedCount + store.letters.untrustedCount
  return { store, clock, world, events, stop, wait, left }
}

describe('each minute', () => {
  it('is looked for what has waited past its time, while the clock is trusted', () => {
    const { clock, world } = bench()
    clock.advanceBy(minuteMs - 1)
    expect(world.expired).toBe(0)
    clock.advanceBy(1)
    expect(world.expired).toBe(1)
    world.trusted = false
    clock.advanceBy(5 * minuteMs)
    expect(world.expired).toBe(1)
    world.trusted = true
    clock.advanceBy(2 * minuteMs)
    expect(world.expired).toBe(3)
  })

  it('nothing is once it is stopped', () => {
    const { clock, world, stop, wait, left } = bench()
    wait(501, 'mail')
    clock.advanceBy(minuteMs)
    expect(left()).toBe(1)
    stop()
    clock.advanceBy(5 * minuteMs)
    expect([left(), world.expired]).toEqual([1, 1])
  })

  it.each([
    [-1_000, 'back by 1 s'],
    [119_499, 'forward by 119 s'],
    [120_000, 'forward by 2 minutes'],
    [-(2 * hourMs - 60_000), 'back by 119 minutes'],
    [2 * hourMs, 'forward by 2 hours'],
    [47 * hourMs, 'forward by 47 hours'],
    [48 * hourMs, 'forward by 2 days'],
    [-36_600_000_000, 'back by 424 days'],
  ])('a clock that was set by %d ms is told: %s', (lastMs, how) => {
    const { clock, world, events } = bench()
    clock.advanceBy(minuteMs)
    expect(events).toEqual([])
    world.steps = { count: 4, lastMs }
    clock.advanceBy(5 * minuteMs)
    expect(events).toEqual([
      { kind: 'fault', text: "the machine's clock", reason: `it was set ${how}` },
    ])
  })

  it('that nothing expires any more is told with it', () => {
    const { clock, world, events } = bench(false)
    world.steps = { count: 4, lastMs: 60_000 }
    clock.advanceBy(minuteMs)
    expect(events).toMatchObject([
      { reason: 'it was set forward by 60 s; nothing expires until it can be trusted' },
    ])
  })
})

describe('what was left while nobody knew the time', () => {
  it('gets its whole time when the clock is trusted, each kind its own', () => {
    const { store, clock, world, wait, left } = bench(false)
    for (const kind of ['mail', 'notice', 'letter'] as const) wait(1, kind)
    clock.advanceBy(10 * minuteMs)
    expect(left()).toBe(3)
    world.trusted = true
    clock.advanceBy(minuteMs)
    expect(left()).toBe(0)
    const wallMs = clock.wallMs()
    expect(store.mailbox.find(1)?.expiresWallMs).toBe(wallMs + 2 * dayMs)
    expect(store.notices.current(wallMs, 9)[0]?.expiresWallMs).toBe(wallMs + 3 * dayMs)
    expect(store.letters.find(1)?.expiresWallMs).toBe(wallMs + 2 * dayMs)
  })

  it.each([
    ['mail', 'letter'],
    ['mail', 'notice'],
  ] as const)(
    'gets it where %s and %s wait alike, and no more is looked for until the next minute',
    (...kinds) => {
      const { store, clock, wait, left } = bench()
      for (const kind of kinds) wait(1, kind)
      clock.advanceBy(minuteMs)
      expect(left()).toBe(0)
      expect(clock.nextAtMs()).toBeGreaterThan(minuteMs + 500)
      const { durableCount } = store.state().counters
      clock.advanceBy(5 * minuteMs)
      // nothing is written where nothing waits
      expect(store.state().counters.durableCount).toBe(durableCount)
    },
  )

  it('gets it five hundred at a time, of all kinds together, half a second apart', () => {
    const { clock, wait, left } = bench()
    wait(400, 'mail')
    wait(400, 'notice')
    wait(400, 'letter')
    clock.advanceBy(minuteMs)
    expect(left()).toBe(700)
    clock.advanceBy(499)
    expect(left()).toBe(700)
    clock.advanceBy(1)
    expect(left()).toBe(200)
    clock.advanceBy(500)
    expect(left()).toBe(0)
  })

  it('waits where the clock is not trusted any more', () => {
    const { clock, wait, left, world } = bench()
    wait(501, 'letter')
    clock.advanceBy(minuteMs)
    world.trusted = false
    clock.advanceBy(10 * minuteMs)
    expect(left()).toBe(1)
  })

  it.each(['what waits for the clock', 'when things expire'])(
    'waits while the database fails at %s, and mail expires meanwhile',
    (failing) => {
      const { clock, wait, left, world } = bench()
      wait(600, 'notice')
      world.failing = failing
      clock.advanceBy(3 * minuteMs)
      expect([left(), world.expired]).toEqual([600, 3])
      world.failing = ''
      clock.advanceBy(minuteMs)
      expect(left()).toBe(100)
    },
  )
})
