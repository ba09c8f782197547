import { afterEach, describe, expect, it } from 'vitest'
import type { HillRow, NewHillRow } from '../../src/store/hills.js'
import type { Store } from '../../src/store/store.js'
import { openTestStore } from './openTestStore.js'

let store: Store
afterEach(() => store.close())

function bench() {
  store = openTestStore().store
  const { hills } = store
  const add = (entryId: string, given: Partial<NewHillRow> = {}): void =>
    hills.insert({
      ...{ entryId, kind: 'message', from: 'Q7LAP', to: 'Q1ABC', subject: '', text: 'bring rope' },
      ...{ writtenWallMs: 1_000, expiresWallMs: 5_000, expiryTrusted: true, trace: '' },
      ...{ cameFrom: undefined, state: 'here', peer: undefined, outcome: undefined },
      ...{ local: undefined, ...given },
    })
  const ids = (all: readonly HillRow[]) => all.map(({ entryId }) => entryId)
  return { hills, add, ids }
}

describe('an entry that goes from node to node', () => {
  it('is kept with all that is known of it, once', () => {
    const { hills, add } = bench()
    add('A')
    const plain = {
      ...{ id: 1, entryId: 'A', kind: 'message', from: 'Q7LAP', to: 'Q1ABC', subject: '' },
      ...{ text: 'bring rope', writtenWallMs: 1_000, expiresWallMs: 5_000, expiryTrusted: true },
      ...{ trace: '', cameFrom: undefined, state: 'here', peer: undefined, outcome: undefined },
      local: undefined,
    }
    expect(hills.find('A')).toEqual(plain)
    const more: Partial<NewHillRow> = {
      ...{ kind: 'letter', subject: 'hut', expiryTrusted: false, trace: 'Q1,Q2', cameFrom: 'Q2' },
      ...{ state: 'handed', peer: 'Q3', outcome: 'delivered', local: '7' },
    }
    add('B', more)
    add('A', { text: 'another' })
    const second = { ...plain, ...more, id: 2, entryId: 'B' }
    expect([hills.find('B'), hills.find('C')]).toEqual([second, undefined])
    expect([hills.findByLocal('letter', '7'), hills.findByLocal('notice', '7')]).toEqual([
      ...[second, undefined],
    ])
    expect([hills.recent(9), hills.recent(1)]).toEqual([[second, plain], [second]])
  })

  it('is handed on, has another place, and ends; of its text the beginning stays', () => {
    const { hills, add } = bench()
    add('A', { text: 'x'.repeat(61), expiryTrusted: false, local: '1' })
    add('B')
    const first = hills.find('A')!
    hills.setState('A', 'handing', 'Q2')
    expect(hills.find('A')).toEqual({ ...first, state: 'handing', peer: 'Q2' })
    hills.setState('A', 'here', undefined)
    expect(hills.find('A')).toEqual(first)
    hills.setPlace('A', 7_000, '3')
    expect(hills.find('A')).toEqual({ ...first, expiresWallMs: 7_000, local: '3' })
    hills.setPlace('A', 8_000, undefined)
    hills.noteHas('A', 'Q2')
    hills.noteHas('B', 'Q2')
    hills.end('A', 'expired')
    expect(hills.find('A')).toEqual({
      ...{ ...first, expiresWallMs: 8_000, local: undefined, state: 'ended', outcome: 'expired' },
      ...{ text: 'x'.repeat(60), expiryTrusted: true },
    })
    expect([hills.has('A', 'Q2'), hills.has('B', 'Q2')]).toEqual([false, true])
    expect(hills.find('B')?.state).toBe('here')
  })

  it('is among the open ones until it ends, oldest first, by whom it goes to', () => {
    const { hills, add, ids } = bench()
    for (const [id, peer] of ['Q2', 'Q3', 'Q2', 'Q2'].entries()) add(`E${id}`, { peer })
    hills.end('E3', 'delivered')
    expect([ids(hills.open()), ids(hills.openTo('Q2'))]).toEqual([
      ['E0', 'E1', 'E2'],
      ['E0', 'E2'],
    ])
  })

  it('expires at its time, where that is trusted, so many at once', () => {
    const { hills, add, ids } = bench()
    add('A')
    add('B', { expiresWallMs: 4_000 })
    add('C', { expiryTrusted: false })
    add('D', { expiresWallMs: 5_001 })
    add('E')
    hills.end('E', 'delivered')
    expect([ids(hills.expired(5_000, 9)), ids(hills.expired(5_000, 1))]).toEqual([
      ['A', 'B'],
      ['A'],
    ])
    expect([hills.untrustedCount, hills.trustExpiry(4_500, 9), hills.untrustedCount]).toEqual([
      ...[1, 1, 0],
    ])
    hills.capExpiry(4_200)
    const times = hills.recent(9).map(({ entryId, expiresWallMs }) => [entryId, expiresWallMs])
    // what has ended keeps its time
    expect(Object.fromEntries(times)).toEqual({ A: 4_200, B: 4_000, C: 4_200, D: 4_200, E: 5_000 })
  })

  it('that has ended is forgotten but for the newest', () => {
    const { hills, add, ids } = bench()
    for (const id of ['A', 'B', 'C', 'D']) add(id)
    for (const id of ['A', 'B', 'D']) hills.end(id, 'delivered')
    hills.prune(3)
    expect(ids(hills.recent(9))).toEqual(['D', 'C', 'B', 'A'])
    hills.prune(1)
    expect(ids(hills.recent(9))).toEqual(['D', 'C'])
  })
})

describe('what is known of neighbours', () => {
  it('is which entries they have', () => {
    const { hills } = bench()
    hills.noteHas('A', 'Q2')
    hills.noteHas('A', 'Q2')
    hills.noteHas('A', 'Q3')
    const known = () => [hills.has('A', 'Q2'), hills.has('A', 'Q3'), hills.has('B', 'Q2')]
    expect(known()).toEqual([true, true, false])
    hills.forgetHas('Q2')
    expect(known()).toEqual([false, true, false])
  })

  it('is how far they have come, until all are forgotten', () => {
    const { hills } = bench()
    expect(hills.peer('Q2')).toBeUndefined()
    hills.setPeer({ call: 'Q2', epoch: '', count: 0, confirmed: 0 })
    hills.setPeer({ call: 'Q3', epoch: 'aaaaaaaa', count: 1, confirmed: 1 })
    hills.setPeer({ call: 'Q2', epoch: 'bbbbbbbb', count: 3, confirmed: 2 })
    expect(hills.peer('Q2')).toMatchObject({
      ...{ call: 'Q2', epoch: 'bbbbbbbb', count: 3, confirmed: 2 },
    })
    expect(hills.peer('Q3')?.count).toBe(1)
    hills.noteHas('A', 'Q2')
    hills.forgetPeers()
    expect([hills.peer('Q2'), hills.peer('Q3'), hills.has('A', 'Q2')]).toEqual([
      ...[undefined, undefined, false],
    ])
  })
})
