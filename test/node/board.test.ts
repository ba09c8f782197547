import { describe, expect, it } from 'vitest'
import { board } from '../../src/node/board.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import type { NodeEvent } from '../../src/store/events.js'
import { openStore, type Store } from '../../src/store/store.js'
import { failingStore } from './failingStore.js'
import { question } from './mailBench.js'
import { trustedClock } from './trustedClock.js'

const dayMs = 86_400_000

function bench(change: Partial<Store> = {}) {
  const clock = virtualClock()
  const store = openStore({ file: ':memory:', clock })
  const world = { failing: '', trusted: true }
  const events: Omit<NodeEvent, 'atWallMs'>[] = []
  const box = board({
    ...{ clock, clockTrust: { ...trustedClock, trusted: () => world.trusted } },
    store: { ...failingStore(store, (doing) => doing === world.failing), ...change },
    note: (kind, text, detail) => void events.push({ kind, text, ...detail }),
    options: { ...defaultNodeOptions().notices, perSender: 2, total: 3 },
  })
  let count = 0
  const post = (text: string, from = 'Q1ABC', id = `Q${++count}-x`) =>
    box.post(question(from, id), text)
  const texts = (most = 9) => box.recent(most).map(({ text }) => text)
  return { store, clock, world, events, box, post, texts }
}

describe('a notice', () => {
  it('is kept with who posted it and until when, once for its question, and is told', () => {
    const { store, clock, events, box, post, texts } = bench()
    expect(post(' the {hut} is shut ', 'Q1ABC', 'Q4-x')).toEqual({ ok: true, keptMs: 7 * dayMs })
    expect(post('something else', 'Q1ABC', 'Q4-x')).toEqual({ ok: true, keptMs: 7 * dayMs })
    const postedWallMs = clock.wallMs()
    expect(box.recent(9)).toEqual([
      {
        ...{ id: 1, questionId: 'Q4-x', from: 'Q1ABC', text: 'the (hut) is shut', postedWallMs },
        ...{ expiresWallMs: postedWallMs + 7 * dayMs, expiryTrusted: true },
      },
    ])
    expect(events).toEqual([
      { kind: 'posted', text: 'the (hut) is shut', station: 'Q1ABC', reference: 'Q4' },
    ])
    expect(store.notices.untrustedCount).toBe(0)
    post('newer')
    expect([texts(), texts(1)]).toEqual([['newer', 'the (hut) is shut'], ['newer']])
  })

  it('is there until its time is over, while the clock is trusted', () => {
    const { clock, world, post, texts } = bench()
    post('hello')
    clock.advanceBy(7 * dayMs - 1)
    expect(texts()).toEqual(['hello'])
    clock.advanceBy(1)
    expect(texts()).toEqual([])
    world.trusted = false
    expect(texts()).toEqual(['hello'])
  })

  it('has its time from when the clock is trusted', () => {
    const { store, world, post } = bench()
    world.trusted = false
    post('hello')
    expect(store.notices.untrustedCount).toBe(1)
  })

  it('is refused with how much of it is too long, its sender in front', () => {
    const { post } = bench()
    expect(post('x'.repeat(60))).toMatchObject({ ok: true })
    expect(post('x'.repeat(62))).toEqual({
      ...{ ok: false, reason: 'too-long', excessCharacters: 2, charactersMax: 60 },
    })
  })

  it('is refused where its sender has as many as may be, with when the first of them ends', () => {
    const { clock, post } = bench()
    post('one')
    clock.advanceBy(1_000)
    post('two')
    const full = { ok: false, reason: 'sender-quota', limit: 2, freeAfterMs: 7 * dayMs - 1_000 }
    expect(post('three')).toEqual(full)
    // its question may come again
    expect(post('one', 'Q1ABC', 'Q1-x')).toMatchObject({ ok: true })
    clock.advanceBy(7 * dayMs - 1_000)
    expect(post('three')).toMatchObject({ ok: true })
  })

  it('is refused where the board is full, with when the first of all ends', () => {
    const { clock, post } = bench()
    post('one', 'Q2ABC')
    clock.advanceBy(1_000)
    post('two', 'Q3ABC')
    post('three')
    const full = { ok: false, reason: 'board-full', limit: 3, freeAfterMs: 7 * dayMs - 1_000 }
    expect(post('four')).toEqual(full)
  })

  it('ends nobody knows when where its time has not begun, or the clock is not trusted', () => {
    const { world, post } = bench()
    world.trusted = false
    post('one')
    post('two')
    expect(post('three')).toMatchObject({ reason: 'sender-quota', freeAfterMs: undefined })
    world.trusted = true
    expect(post('three')).toMatchObject({ reason: 'sender-quota', freeAfterMs: undefined })
    post('three', 'Q2ABC')
    expect(post('four', 'Q3ABC')).toMatchObject({ reason: 'board-full', freeAfterMs: 7 * dayMs })
    world.trusted = false
    expect(post('four', 'Q3ABC')).toMatchObject({ reason: 'board-full', freeAfterMs: undefined })
  })

  it.each(['the notices', 'a notice'])(
    'is refused, a fault, while the database fails at %s',
    (failing) => {
      const { world, post, texts, events } = bench()
      world.failing = failing
      expect(post('hello', 'Q1ABC', 'Q4-x')).toEqual({ ok: false, reason: 'out-of-order' })
      expect(events).toEqual([
        {
          ...{ kind: 'fault', text: 'the board', station: 'Q1ABC', reference: 'Q4' },
          reason: 'its database cannot be used: nothing is posted until it can',
        },
      ])
      world.failing = ''
      expect(texts()).toEqual([])
      post('hello')
      world.failing = failing
      expect(texts()).toEqual(failing === 'the notices' ? [] : ['hello'])
    },
  )

  it('is refused by a database that is none', () => {
    const { post, events } = bench({ degraded: true })
    expect(post('hello')).toEqual({ ok: false, reason: 'out-of-order' })
    expect(events).toMatchObject([{ kind: 'fault' }])
  })
})
