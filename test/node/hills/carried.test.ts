import { describe, expect, it } from 'vitest'
import type { Carried } from '../../../src/node/hills/carried.js'
import {
  type Bench,
  type BenchChange,
  dayMs,
  entryOf,
  hourMs,
  ledgerBench,
  letterOptions,
  minuteMs,
  own,
  peer,
  putRow,
} from './ledgerBench.js'

function start(change: BenchChange = { letters: letterOptions }) {
  const bench = ledgerBench(change)
  const { carried } = bench.make()
  const within = <Value>(work: () => Value): Value => {
    let value: Value | undefined
    bench.durably(() => {
      value = work()
    })
    return value as Value
  }
  return { bench, carried, within }
}

const lifeOf = ({ clock }: Bench) => {
  const leftWallMs = clock.wallMs()
  return { leftWallMs, expiresWallMs: leftWallMs + 2 * dayMs, expiryTrusted: true }
}
const leave = (bench: Bench, questionId: string, text = 'hello', change: object = {}): void =>
  bench.durably(
    () =>
      void bench.store.mailbox.insert({
        ...{ questionId, from: 'Q3SND', to: 'Q4RCV', text, ...lifeOf(bench), ...change },
      }),
  )
function leaveLetter(bench: Bench, text = 'first\nsecond', change: object = {}): number {
  let id = 0
  bench.durably(() => {
    const letter = { from: 'Q3SND', to: 'Q4RCV', subject: 'a walk', text, ...lifeOf(bench) }
    id = bench.store.letters.insert({ ...letter, ...change })
  })
  return id
}
const texts = (bench: Bench, carried: Carried) =>
  carried.waiting().map(({ id, kind }) => `${kind} ${bench.store.hills.find(id)?.text ?? 'no row'}`)

describe('what lies here for other nodes', () => {
  it('is every message and letter that waits, under ids of this node', () => {
    const { bench, carried } = start()
    leave(bench, 'q1', 'häuser')
    leaveLetter(bench)
    const common = { id: expect.stringMatching(/^Q1OWN\.[A-Z2-7]{10}$/), to: 'Q4RCV' }
    const waiting = carried.waiting()
    expect(waiting).toEqual([
      { ...common, kind: 'message', octets: 7, from: 'Q3SND', trace: [] },
      { ...common, kind: 'letter', octets: 12, from: 'Q3SND', trace: [] },
    ])
    expect(waiting[0]!.id).not.toBe(waiting[1]!.id)
    expect(carried.waiting()).toEqual(waiting)
  })

  it('is no letter where none are kept', () => {
    const { bench, carried } = start({})
    leave(bench, 'q1')
    leaveLetter(bench)
    expect(carried.waiting().map(({ kind }) => kind)).toEqual(['message'])
  })

  it('is nothing that its reader may have seen', () => {
    const { bench, carried } = start()
    leave(bench, 'q1')
    const letter = leaveLetter(bench)
    bench.durably(() => {
      bench.store.mailbox.setShown(1)
      bench.store.letters.setShown(letter)
    })
    expect(carried.waiting()).toEqual([])
  })

  it('is nothing that another node has, or that has ended, whatever the mailbox says', () => {
    for (const state of ['handing', 'handed', 'ended'] as const) {
      const { bench, carried, within } = start()
      leave(bench, 'q1')
      putRow(bench, { state, local: 'q1' })
      expect(carried.waiting()).toEqual([])
      expect(within(() => carried.take(`${peer}.ABCDEFGHJK`, peer))).toBeUndefined()
    }
  })

  it('has another id where another letter has the same number in a new database', () => {
    const ids = ['one', 'two'].map((text) => {
      const { bench, carried } = start()
      leaveLetter(bench, text)
      return carried.waiting()[0]!.id
    })
    expect(ids[0]).not.toBe(ids[1])
    const changed = [{ from: 'Q5SUE' }, { to: 'Q6TOM' }, { subject: 'a ride' }, { leftWallMs: 7 }]
    for (const change of changed) {
      const { bench, carried } = start()
      leaveLetter(bench, 'one', change)
      expect(carried.waiting()[0]!.id).not.toBe(ids[0])
    }
  })

  it('keeps the id and the trace under which it came', () => {
    const { bench, carried, within } = start()
    const id = `${peer}.ABCDEFGHJK`
    const local = within(() => carried.land(entryOf(), bench.clock.wallMs() + hourMs))
    bench.durably(() =>
      bench.store.hills.insert({
        ...{ entryId: id, kind: 'message', from: 'Q3SND', to: 'Q4RCV', subject: '', text: 'hello' },
        ...{ writtenWallMs: 0, expiresWallMs: 0, expiryTrusted: true, trace: 'Q0FAR,Q2BBB' },
        ...{ cameFrom: peer, state: 'here', peer: undefined, outcome: undefined, local },
      }),
    )
    expect(carried.waiting()).toEqual([
      {
        ...{ id, kind: 'message', octets: 5, to: 'Q4RCV', from: 'Q3SND' },
        trace: ['Q0FAR', 'Q2BBB'],
      },
    ])
  })
})

describe('what came', () => {
  it('lies in the mailbox, as old as it is', () => {
    const { bench, carried, within } = start()
    const expiresWallMs = bench.clock.wallMs() + hourMs
    expect(within(() => carried.land(entryOf(), expiresWallMs))).toBe('hill Q2BBB.ABCDEFGHJK')
    expect(bench.store.mailbox.waitingFor('Q4RCV')[0]).toMatchObject({
      ...{ questionId: 'hill Q2BBB.ABCDEFGHJK', from: 'Q3SND', to: 'Q4RCV', text: 'hello' },
      ...{ leftWallMs: bench.clock.wallMs() - 5 * minuteMs, expiresWallMs, expiryTrusted: true },
    })
  })

  it('lies among the letters, as old as it is', () => {
    const { bench, carried, within } = start()
    const expiresWallMs = bench.clock.wallMs() + hourMs
    bench.state.isTrusted = false
    const letter = entryOf({ kind: 'letter', subject: 'a walk', text: 'one\ntwo' })
    const id = within(() => carried.land(letter, expiresWallMs))
    expect(bench.store.letters.find(Number(id))).toMatchObject({
      ...{ from: 'Q3SND', to: 'Q4RCV', subject: 'a walk', text: 'one\ntwo', expiresWallMs },
      ...{ leftWallMs: bench.clock.wallMs() - 5 * minuteMs, expiryTrusted: false },
    })
  })

  it('was not left before the clock began', () => {
    const { bench, carried, within } = start()
    bench.state.wallOffsetMs = -bench.clock.wallMs() + minuteMs
    within(() => carried.land(entryOf(), hourMs))
    expect(bench.store.mailbox.waitingFor('Q4RCV')[0]?.leftWallMs).toBe(0)
  })
})

describe('what is not taken', () => {
  const message = entryOf()
  const letter = entryOf({ kind: 'letter' })

  it.each([
    ['a message', message, undefined],
    ['a message to a word', { ...message, to: 'HUT' }, 'to'],
    ['a message to this node', { ...message, to: own }, 'to'],
    ['a message of two lines', { ...message, text: 'one\ntwo' }, 'text'],
    ['a message that fits with its sender', { ...message, text: 'x'.repeat(58) }, undefined],
    ['a message that does not fit with its sender', { ...message, text: 'x'.repeat(62) }, 'text'],
    ['a letter', letter, undefined],
    ['a letter of two lines', { ...letter, text: 'one\ntwo' }, undefined],
    ['a letter to a word', { ...letter, to: 'HUT' }, 'to'],
    ['a letter that just fits', { ...letter, text: 'ä'.repeat(500) }, undefined],
    ['a letter that does not fit', { ...letter, text: `${'ä'.repeat(500)}x` }, 'size'],
  ])('%s: %s', (_, entry, reason) => {
    expect(start().carried.refusalOf(entry)).toBe(reason)
  })

  it('are letters where none are kept', () => {
    expect(start({}).carried.refusalOf(letter)).toBe('kind')
    expect(start({}).carried.refusalOf(message)).toBeUndefined()
  })

  it('is anything while the database keeps nothing', () => {
    const { bench, carried } = start()
    Object.assign(bench.parts.store, { degraded: true })
    expect(carried.refusalOf(message)).toBe('disk')
    expect(carried.refusalOf(letter)).toBe('disk')
  })

  it('is a message more than the mailbox may hold', () => {
    const { bench, carried } = start({ node: { mailbox: { perSender: 1 } } })
    leave(bench, 'q1', 'another')
    expect(carried.refusalOf(message)).toBe('full')
    expect(carried.refusalOf({ ...message, from: 'Q5SUE' })).toBeUndefined()
  })

  it('is a letter more than one may leave, one may get, and there may be in all', () => {
    const { bench, carried } = start()
    for (let at = 0; at < 2; at++) leaveLetter(bench)
    expect(carried.refusalOf(letter)).toBeUndefined()
    leaveLetter(bench)
    expect(carried.refusalOf({ ...letter, to: 'Q5SUE' })).toBe('full')
    expect(carried.refusalOf({ ...letter, from: 'Q5SUE' })).toBe('full')
    const others = { ...letter, from: 'Q5SUE', to: 'Q6TOM' }
    expect(carried.refusalOf(others)).toBeUndefined()
    leaveLetter(bench, 'x', { from: 'Q7ANN', to: 'Q8BEN' })
    expect(carried.refusalOf(others)).toBeUndefined()
    leaveLetter(bench, 'x', { from: 'Q7ANN', to: 'Q8BEN' })
    expect(carried.refusalOf(others)).toBe('full')
  })
})

describe('what is handed on', () => {
  it('is a message out of the mailbox, and back in it where the other does not take it', () => {
    const { bench, carried, within } = start()
    leave(bench, 'q1')
    leave(bench, 'q2', 'other')
    const { id } = carried.waiting()[0]!
    const expiresWallMs = bench.clock.wallMs() + 2 * dayMs
    const row = within(() => carried.take(id, peer))
    expect(row).toEqual({
      ...{ id: 1, entryId: id, kind: 'message', from: 'Q3SND', to: 'Q4RCV', subject: '' },
      ...{ text: 'hello', writtenWallMs: bench.clock.wallMs(), trace: '', cameFrom: undefined },
      // Word of it may be under way for a day more.
      ...{ expiresWallMs: expiresWallMs + dayMs, expiryTrusted: true, state: 'handing', peer },
      ...{ outcome: undefined, local: 'q1' },
    })
    expect(bench.store.mailbox.findByQuestion('q1')?.state).toBe('passed on')
    expect(texts(bench, carried)).toEqual(['message no row'])
    expect(within(() => carried.take(id, peer))).toBeUndefined()

    within(() => carried.putBack(row!))
    expect(bench.store.mailbox.findByQuestion('q1')?.state).toBe('waiting')
    expect(bench.store.hills.find(id)).toEqual({
      ...{ ...row, state: 'here', peer: undefined, expiresWallMs },
    })
    expect(carried.waiting()[0]?.id).toBe(id)
  })

  it('is a letter out of its place, and back in one where the other does not take it', () => {
    const { bench, carried, within } = start()
    leaveLetter(bench)
    const { id } = carried.waiting()[0]!
    const [letter] = bench.store.letters.unread()
    const row = within(() => carried.take(id, peer))
    expect(row).toMatchObject({
      ...{ kind: 'letter', from: 'Q3SND', to: 'Q4RCV', subject: 'a walk', text: 'first\nsecond' },
      ...{ writtenWallMs: bench.clock.wallMs(), expiryTrusted: true, state: 'handing', peer },
      ...{ expiresWallMs: bench.clock.wallMs() + 3 * dayMs, local: undefined },
    })
    expect(bench.store.letters.unread()).toEqual([])
    expect(bench.store.mailbox.recent(9)).toEqual([])
    within(() => carried.putBack(row!))
    const [back, ...more] = bench.store.letters.unread()
    expect(more).toEqual([])
    expect({ ...back, id: 0 }).toEqual({ ...letter, id: 0 })
    expect(bench.store.hills.find(id)).toMatchObject({
      ...{ state: 'here', peer: undefined, local: String(back!.id) },
      expiresWallMs: bench.clock.wallMs() + 2 * dayMs,
    })
    expect(carried.waiting().map((one) => one.id)).toEqual([id])
  })

  it('is nothing that does not lie here', () => {
    const { bench, carried, within } = start()
    leave(bench, 'q1')
    expect(within(() => carried.take('Q1OWN.ABCDEFGHJK', peer))).toBeUndefined()
    expect(bench.rows()).toEqual([])
  })

  it('does not come back into a mailbox in which it has ended', () => {
    const { bench, carried, within } = start()
    leave(bench, 'q1')
    const row = within(() => carried.take(carried.waiting()[0]!.id, peer))!
    bench.durably(() => bench.store.mailbox.end(1, 'withdrawn', 0))
    within(() => carried.putBack(row))
    expect(bench.store.mailbox.findByQuestion('q1')?.state).toBe('withdrawn')
    expect(carried.waiting()).toEqual([])
    within(() => carried.putBack({ ...row, local: 'q9' }))
    expect(bench.store.hills.find(row.entryId)?.state).toBe('here')
  })
})
