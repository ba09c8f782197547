import { describe, expect, it } from 'vitest'
import { keptByServices, type QuestionStorage } from '../../src/node/keptByServices.js'
import { serviceMessages, type Wanted } from '../../src/node/serviceMessages.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import type { NodeEvent } from '../../src/store/events.js'
import { openStore } from '../../src/store/store.js'
import { trustedClock } from './trustedClock.js'

const minuteMs = 60_000
const dayMs = 24 * 60 * minuteMs

function bench(options: Parameters<typeof defaultNodeOptions>[0] = {}, trusted = true) {
  const clock = virtualClock()
  const store = openStore({ file: ':memory:', clock })
  const events: Omit<NodeEvent, 'atWallMs'>[] = []
  let number = 100
  const box = serviceMessages({
    ...{ store, clock, clockTrust: { ...trustedClock, trusted: () => trusted } },
    note: (kind, text, detail) => void events.push({ kind, text, ...detail }),
    options: defaultNodeOptions({ call: 'N0DE-10', ignored: ['Q9BAD'], ...options }),
    newNumber: () => `${++number}`,
    radioFor: (call) => (call === 'Q1ABC' ? 2 : 0),
  })
  const insert = (wanted: readonly Wanted[], id = 'Q1-x') => {
    const done = store.durably('test', () => box.insert(id, wanted))
    if (!done.ok) throw done.failure
    return done.value
  }
  const notices = () => store.notices.current(undefined, 1_000)
  return { store, clock, events, box, insert, notices }
}

describe('what a service sends to a station', () => {
  it('goes out as a reply with a number, by the radio that heard it, of use as answers are', () => {
    const { insert, clock, events } = bench()
    const createdWallMs = clock.wallMs()
    expect(insert([{ service: 'club', to: 'Q1ABC', text: 'meet' }])).toEqual([
      {
        ...{ id: 1, kind: 'reply', to: 'Q1ABC', number: '101', replyTo: undefined, text: 'meet' },
        ...{ questionId: undefined, mailboxId: undefined, radio: 2, state: 'waiting' },
        ...{ attempts: 0, createdWallMs, notAfterWallMs: createdWallMs + 10 * minuteMs },
        ...{ endedWallMs: undefined, reason: undefined },
      },
    ])
    const reason = 'by the service club'
    expect(events).toEqual([
      { kind: 'queued', text: 'meet', station: 'Q1ABC', radio: 2, reference: 'M1', reason },
    ])
  })

  it('is nothing to this node itself', () => {
    const { insert, events } = bench()
    expect(insert([{ service: 'club', to: 'N0DE-10', text: 'meet' }])).toEqual([])
    expect(events).toEqual([])
  })

  it('is refused to a station that is ignored, and told', () => {
    const { insert, events } = bench()
    expect(insert([{ service: 'club', to: 'Q9BAD-7', text: 'meet' }])).toEqual([])
    const reason = 'by the service club: this station is ignored'
    expect(events).toEqual([{ kind: 'refused', text: 'meet', station: 'Q9BAD-7', reason }])
  })

  it('is thirty messages an hour of each service; what was refused counts', () => {
    const { insert, clock, events } = bench()
    const send = (service: string): number =>
      insert([{ service, to: 'Q1ABC', text: 'meet' }]).length
    const sent = Array.from({ length: 31 }, () => send('club'))
    expect(sent).toEqual([...Array.from({ length: 30 }, () => 1), 0])
    expect(events.at(-1)).toEqual({
      ...{ kind: 'refused', text: 'meet', station: 'Q1ABC' },
      reason: 'by the service club: more than 30 messages an hour',
    })
    expect(send('other')).toBe(1)
    clock.advanceBy(60 * minuteMs - 1)
    expect(send('club')).toBe(0)
    clock.advanceBy(1)
    expect(send('club')).toBe(1)
  })
})

describe('what a service posts', () => {
  const post = (text: string): Wanted => ({ service: 'club', text })

  it('stands on the board in the name of the node, once for a question and its place in it', () => {
    const { insert, notices, clock, events } = bench()
    expect(insert([post('one'), post('two')])).toEqual([])
    insert([post('one'), post('two')])
    const postedWallMs = clock.wallMs()
    const notice = {
      ...{ from: 'N0DE-10', postedWallMs, expiresWallMs: postedWallMs + 7 * dayMs },
      expiryTrusted: true,
    }
    expect(notices()).toEqual([
      { ...notice, id: 2, questionId: 'Q1-x/1', text: 'two' },
      { ...notice, id: 1, questionId: 'Q1-x/0', text: 'one' },
    ])
    const told = { kind: 'posted', station: 'N0DE-10', reason: 'by the service club' }
    expect(events).toEqual([
      { ...told, text: 'one' },
      { ...told, text: 'two' },
    ])
  })

  it('has its time from when the clock is trusted; until then nothing makes room', () => {
    const { insert, notices, clock } = bench({}, false)
    for (let count = 0; count < 5; count++) insert([post(`${count}`)], `Q${count}-x`)
    expect(notices()[0]?.expiryTrusted).toBe(false)
    clock.advanceBy(8 * dayMs)
    insert([post('more')], 'Q6-x')
    expect(notices()).toHaveLength(5)
  })

  it('is five notices at a time, in the place of which new ones come when they expire', () => {
    const { insert, notices, clock, events } = bench()
    for (let count = 0; count < 6; count++) insert([post(`${count}`)], `Q${count}-x`)
    expect(notices()).toHaveLength(5)
    const reason = 'by the service club: the board is full for it'
    expect(events.at(-1)).toEqual({ kind: 'refused', text: '5', station: undefined, reason })
    clock.advanceBy(7 * dayMs)
    insert([post('new')], 'Q7-x')
    expect(events.at(-1)).toMatchObject({ kind: 'posted', text: 'new' })
  })

  it('has no place on a board that is full of others, and one beside as many as fit', () => {
    const { insert, notices, store, clock } = bench({ notices: { total: 7 } })
    const others = (count: number) =>
      store.durably('test', () =>
        store.notices.insert({
          ...{ questionId: `other ${count}`, from: 'Q1ABC', text: 'x', expiryTrusted: true },
          ...{ postedWallMs: clock.wallMs(), expiresWallMs: clock.wallMs() + dayMs },
        }),
      )
    for (let count = 0; count < 6; count++) others(count)
    insert([post('one')])
    expect(notices()).toHaveLength(7)
    insert([post('two')], 'Q2-x')
    expect(notices()).toHaveLength(7)
  })
})

describe('what a service keeps', () => {
  const keeping = () => {
    const store = openStore({ file: ':memory:', clock: virtualClock() })
    const changed: string[] = []
    const wanted: [string, readonly Wanted[]][] = []
    const kept = keptByServices({
      store,
      serviceMessages: {
        insert(...all) {
          wanted.push(all)
          return []
        },
      },
      onChanged: (service) => void changed.push(service),
    })
    const changes = (...all: [string, string | undefined][]) => new Map(all)
    return { store, kept, changed, wanted, changes }
  }

  it('is written with the answer, is read before it, and each change is told', () => {
    const { store, kept, changed, changes } = keeping()
    store.durably('test', () => {
      store.serviceData.set('club', 'old', '1')
      store.serviceData.set('other', 'x', '1')
    })
    const one = kept.begin()
    one.write('club', changes(['new', '2'], ['old', undefined]))
    one.write('other', changes(['y', '2']))
    const another = kept.begin()
    for (const storage of [one, another]) expect([...storage.read('club')]).toEqual([['new', '2']])
    expect([...store.serviceData.all('club')]).toEqual([['old', '1']])
    expect(changed).toEqual([])
    store.durably('test', () => one.commit('Q1-x'))
    one.end()
    expect([...store.serviceData.all('club')]).toEqual([['new', '2']])
    expect([...another.read('other')]).toEqual([
      ['x', '1'],
      ['y', '2'],
    ])
    expect(changed).toEqual(['club', 'other'])
  })

  it('is forgotten where the question is over without it', () => {
    const { store, kept, changes } = keeping()
    const one = kept.begin()
    const another = kept.begin()
    one.write('club', changes(['a', '1']))
    another.write('club', changes(['b', '2']))
    one.end()
    expect([...another.read('club')]).toEqual([['b', '2']])
    expect([...store.serviceData.all('club')]).toEqual([])
  })

  it('is nothing of a service that is late', () => {
    const { store, kept, wanted, changes } = keeping()
    const one = kept.begin()
    one.send('club', 'Q1ABC', 'hi')
    one.end()
    one.write('club', changes(['a', '1']))
    one.send('club', 'Q1ABC', 'late')
    one.post('club', 'late')
    store.durably('test', () => one.commit('Q1-x'))
    expect([...one.read('club')]).toEqual([])
    expect(wanted).toEqual([['Q1-x', [{ service: 'club', to: 'Q1ABC', text: 'hi' }]]])
  })

  it('is something to commit as soon as something is written, sent or posted', () => {
    const { kept, changes } = keeping()
    const emptyAfter = (act: (one: QuestionStorage) => void): boolean => {
      const one = kept.begin()
      act(one)
      return one.isEmpty
    }
    expect([
      emptyAfter((one) => void one.read('club')),
      emptyAfter((one) => one.write('club', changes(['a', '1']))),
      emptyAfter((one) => one.send('club', 'Q1ABC', 'hi')),
      emptyAfter((one) => one.post('club', 'all')),
    ]).toEqual([true, false, false, false])
  })

  it('is kept where nobody is told of changes; and what it sends and posts goes with the answer', () => {
    const { store, changes } = keeping()
    const sent: Wanted[] = []
    const kept = keptByServices({
      store,
      serviceMessages: {
        insert(_, wanted) {
          sent.push(...wanted)
          return [{ id: 7 }] as never
        },
      },
    })
    const one = kept.begin()
    one.write('club', changes(['a', '1']))
    one.send('club', 'Q1ABC', 'hi')
    one.post('club', 'all')
    const done = store.durably('test', () => one.commit('Q1-x'))
    expect(done).toEqual({ ok: true, value: [{ id: 7 }] })
    expect(sent).toEqual([
      { service: 'club', to: 'Q1ABC', text: 'hi' },
      { service: 'club', text: 'all' },
    ])
  })
})
