import { describe, expect, it } from 'vitest'
import type { Refusals } from '../../../src/node/hills/book.js'
import { type Bench, bookOf, dayMs, hourMs, peer, stateOf } from './ledgerBench.js'
import { put, rowOf, start } from './peerBench.js'

describe('what the other says of an entry', () => {
  const ids = ['A', 'B', 'C', 'D', 'E'].map((letter) => `Q0FAR.ABCDEFGHJ${letter}`)
  const rows = (bench: Bench): void =>
    put(
      bench,
      rowOf('A', { kind: 'message', to: 'Q4RCV', state: 'handing', peer }),
      rowOf('B', { kind: 'report', to: 'Q3SND', peer }),
      rowOf('C'),
      rowOf('D', { state: 'ended', outcome: 'expired' }),
      rowOf('E', { kind: 'message', to: 'Q4RCV', state: 'ended', outcome: 'withdrawn' }),
    )
  const states = (bench: Bench) => ids.map((id) => stateOf(bench, id))

  it('kept: it is with the other, a report has done its work, and what goes to all is known there', () => {
    const { bench, book } = start()
    rows(bench)
    for (const id of [...ids, 'Q0FAR.ABCDEFGHJZ']) expect(book.kept(id)).toBe(true)
    expect(states(bench)).toEqual([
      ...[
        `handed ${peer}`,
        `ended ${peer} delivered`,
        'here',
        'ended  expired',
        'ended  withdrawn',
      ],
    ])
    expect(ids.map((id) => bench.store.hills.has(id, peer))).toEqual([
      ...[false, false, true, false, false],
    ])
  })

  it('kept, though it was not under way: it is taken out of the mailbox', () => {
    const { bench, ledger, book, leave } = start()
    leave()
    leave('q2', 'another')
    const [id, other] = ledger.carried.waiting().map((one) => one.id) as [string, string]
    expect(book.kept(id)).toBe(true)
    expect(stateOf(bench, id)).toBe(`handed ${peer}`)
    expect(bench.store.mailbox.findByQuestion('q1')?.state).toBe('passed on')
    const { id: __, ...row } = { ...bench.store.hills.find(id)!, entryId: other }
    put(bench, { ...row, state: 'here', peer: undefined, local: 'q2' })
    expect(book.kept(other)).toBe(true)
    expect(stateOf(bench, other)).toBe(`handed ${peer}`)
    expect(bench.store.mailbox.findByQuestion('q2')?.state).toBe('passed on')
  })

  it('ended: it ends here, too, and its sender is told; what goes to all is known there', () => {
    const { bench, book } = start()
    rows(bench)
    for (const id of [...ids, 'Q0FAR.ABCDEFGHJZ']) expect(book.ended(id, 'delivered')).toBe(true)
    expect(states(bench)).toEqual([
      ...[`ended ${peer} delivered`, `ended ${peer} delivered`, 'here', 'ended  expired'],
      'ended  withdrawn',
    ])
    expect(bench.store.hills.has(ids[2]!, peer)).toBe(true)
    expect(bench.rows('report').map(({ text }) => text)).toContain(
      `${ids[0]} delivered Q0FAR\nQ4RCV: hello`,
    )
  })

  it('ended, though it was not under way: it ends in the mailbox', () => {
    const { bench, ledger, book, leave } = start()
    leave()
    const { id } = ledger.carried.waiting()[0]!
    expect(book.ended(id, 'delivered')).toBe(true)
    expect(bench.store.mailbox.findByQuestion('q1')?.state).toBe('delivered')
    expect(bench.messages.map(({ text }) => text)).toEqual([
      'Your message to Q4RCV was delivered: hello',
    ])
  })

  it('refused: a message lies here again, a report has ended, what goes to all is not offered again', () => {
    const { bench, book } = start()
    rows(bench)
    bench.durably(() => bench.store.hills.setPlace(ids[0]!, bench.clock.wallMs(), undefined))
    for (const id of [...ids, 'Q0FAR.ABCDEFGHJZ']) expect(book.refused(id, 'text')).toBe(true)
    expect(states(bench)).toEqual([
      ...['here', `ended ${peer} refused`, 'here', 'ended  expired', 'ended  withdrawn'],
    ])
    expect(bench.store.hills.has(ids[2]!, peer)).toBe(true)
    expect(bench.notes[0]).toEqual({
      ...{ kind: 'rejected', text: 'an entry for another node', station: peer },
      ...{ reference: ids[0], reason: 'text' },
    })
  })

  it.each(['full', 'disk'])(
    'refused for now (%s): a report, and what goes to all, stay',
    (reason) => {
      const { bench, book } = start()
      rows(bench)
      bench.durably(() => bench.store.hills.setPlace(ids[0]!, bench.clock.wallMs(), undefined))
      for (const id of ids) book.refused(id, reason)
      expect(states(bench).slice(0, 3)).toEqual(['here', `here ${peer}`, 'here'])
      expect(bench.store.hills.has(ids[2]!, peer)).toBe(false)
    },
  )

  it('refused, though it has ended: it stays as it ended', () => {
    const { bench, book } = start()
    put(bench, rowOf('A', { kind: 'report', peer, state: 'ended', outcome: 'delivered' }))
    expect(book.refused(ids[0]!, 'text')).toBe(true)
    expect(stateOf(bench, ids[0]!)).toBe(`ended ${peer} delivered`)
  })

  it('refused, though it was with the other already: it stays there', () => {
    const { bench, book } = start()
    put(bench, rowOf('A', { kind: 'message', state: 'handed', peer }))
    expect(book.refused(ids[0]!, 'text')).toBe(true)
    expect(stateOf(bench, ids[0]!)).toBe(`handed ${peer}`)
  })

  it.each([
    ['full', hourMs],
    ['disk', hourMs],
    ['kind', dayMs],
  ])('refused (%s): it is offered again after %d ms, to another at once', (reason, afterMs) => {
    const refusals: Refusals = new Map()
    const { bench, ledger, book, hearThere, leave } = start({}, refusals)
    leave()
    hearThere()
    put(bench, rowOf('A', { kind: 'report', to: 'Q3SND', peer, local: 'x' }))
    const offers = book.offers(9999)
    expect(offers).toHaveLength(2)
    bench.clock.advanceBy(1000)
    for (const { id } of offers) refusals.set(`${peer} ${id}`, 0)
    book.refused(offers[1]!.id, reason)
    refusals.set(`${peer} ${offers[0]!.id}`, refusals.get(`${peer} ${offers[1]!.id}`)!)
    bench.clock.advanceBy(afterMs - 1)
    expect(book.offers(9999)).toEqual([])
    const others = bookOf(ledger, { call: 'Q9ELS' }, refusals)
    put(bench, rowOf('B', { kind: 'report', to: 'Q3SND', peer: 'Q9ELS' }))
    expect(others.offers(9999)).toHaveLength(1)
    bench.clock.advanceBy(1)
    hearThere()
    expect(book.offers(9999).map(({ id }) => id)).toEqual(offers.map(({ id }) => id))
  })

  it('refused: of five hundred the times are known', () => {
    const refusals: Refusals = new Map()
    for (let at = 0; at < 499; at++) refusals.set(`x ${at}`, 0)
    const { book } = start({}, refusals)
    book.refused(ids[0]!, 'text')
    expect(refusals.size).toBe(500)
    book.refused(ids[1]!, 'text')
    expect([...refusals.keys()]).toEqual([`${peer} ${ids[1]}`])
  })

  it('is on the disk, or the session does not go on', () => {
    const { bench, book } = start()
    rows(bench)
    bench.state.isBroken = true
    expect([book.kept(ids[0]!), book.ended(ids[0]!, 'expired')]).toEqual([false, false])
    expect(book.refused(ids[0]!, 'full')).toBe(false)
    expect(bench.failed).toEqual([
      ...['what another node keeps', 'what has ended elsewhere', 'what another node does not take'],
    ])
  })
})
