import { describe, expect, it } from 'vitest'
import type { HillRow } from '../../../src/store/hills.js'
import { bookOf, dayMs, hourMs, minuteMs, own, peer, stateOf } from './ledgerBench.js'
import { put, rowOf, start } from './peerBench.js'

describe('how far two databases have come', () => {
  const before = { call: peer, epoch: 'bbbbbbbb', count: 7, confirmed: 5 }

  it('is nothing before the first session, and what was kept after it', () => {
    const { bench, ledger, book } = start()
    const { epoch } = ledger.life
    expect(epoch).toMatch(/^[a-z2-7]{8}$/)
    expect(book.meeting()).toEqual({ epoch, count: 0, confirmed: 0 })
    expect(book.confirm(1, { epoch: 'bbbbbbbb', count: 0, confirmed: 0 })).toBe(false)
    expect(book.meet(1)).toBe(true)
    expect(bench.store.hills.peer(peer)).toEqual({ call: peer, epoch: '', count: 1, confirmed: 0 })
    expect(book.meeting()).toEqual({ epoch, count: 1, confirmed: 0 })
    expect(book.confirm(1, { epoch: 'bbbbbbbb', count: 9, confirmed: 9 })).toBe(true)
    expect(bench.store.hills.peer(peer)).toEqual({ ...before, count: 1, confirmed: 1 })
    expect(bench.notes).toEqual([])
    expect(book.meet(2)).toBe(true)
    expect(bench.store.hills.peer(peer)).toEqual({ ...before, count: 2, confirmed: 1 })
  })

  it('is no million sessions further than it was', () => {
    const { bench, book } = start()
    bench.durably(() => bench.store.hills.setPeer(before))
    expect(book.meet(1_000_008)).toBe(false)
    expect(book.meet(1_000_007)).toBe(true)
  })

  const met = (change: Partial<typeof before>, count = 8) => {
    const made = start()
    const { bench, book } = made
    bench.durably(() => bench.store.hills.setPeer(before))
    put(
      bench,
      rowOf('A', { kind: 'message', to: 'Q4RCV', state: 'handed', peer }),
      rowOf('B', { kind: 'message', to: 'Q4RCV', state: 'handed', peer: 'Q9ELS' }),
      rowOf('C', { kind: 'report', to: 'Q4RCV', peer }),
      rowOf('D'),
    )
    bench.durably(() => bench.store.hills.noteHas('Q0FAR.ABCDEFGHJD', peer))
    bench.notes.length = 0
    book.meet(count)
    const { call: _, ...meeting } = { ...before, ...change }
    const isKept = book.confirm(count, meeting)
    return { ...made, isKept }
  }

  it.each([
    ['all is as it was', {}],
    ['it has kept more', { count: 99 }],
    ['it has kept what it had confirmed', { count: 5 }],
    ['it knows that we have kept all', { confirmed: 7 }],
  ])('holds where %s', (_, change) => {
    const { bench, isKept } = met(change)
    expect(isKept).toBe(true)
    expect(bench.notes).toEqual([])
    expect(stateOf(bench, 'Q0FAR.ABCDEFGHJA')).toBe(`handed ${peer}`)
    expect(bench.store.hills.has('Q0FAR.ABCDEFGHJD', peer)).toBe(true)
    expect(bench.store.hills.peer(peer)).toEqual({ ...before, count: 8, confirmed: 8 })
  })

  it.each([
    ['its database is another one', { epoch: 'cccccccc' }],
    ['its database has less than it had confirmed', { count: 4 }],
  ])('begins anew where %s: what it had taken may be lost', (_, change) => {
    const { bench, isKept } = met(change)
    expect(isKept).toBe(true)
    expect(bench.notes).toEqual([
      {
        ...{ kind: 'fault', text: 'entries that it had taken', station: peer },
        reason: 'its database is another one, or an older one',
      },
      {
        ...{ kind: 'given up', text: 'from Q3SND: hello', station: 'Q4RCV' },
        ...{ reference: 'Q0FAR.ABCDEFGHJA', reason: 'is perhaps lost' },
      },
    ])
    expect(stateOf(bench, 'Q0FAR.ABCDEFGHJA')).toBe(`ended ${peer} unknown`)
    expect(stateOf(bench, 'Q0FAR.ABCDEFGHJB')).toBe('handed Q9ELS')
    expect(stateOf(bench, 'Q0FAR.ABCDEFGHJC')).toBe(`here ${peer}`)
    expect(bench.store.hills.has('Q0FAR.ABCDEFGHJD', peer)).toBe(false)
    const { epoch } = { ...before, ...change }
    expect(bench.store.hills.peer(peer)).toEqual({ ...before, epoch, count: 8, confirmed: 8 })
  })

  it('says that this database is the older one where it knows of more than that has: a new life begins', () => {
    const { bench, ledger, isKept } = met({ confirmed: 8 })
    expect(isKept).toBe(false)
    expect(bench.notes[0]).toMatchObject({ kind: 'fault', text: 'entries between nodes' })
    expect(bench.store.hills.peer(peer)).toBeUndefined()
    expect(ledger.life.isOlder).toBe(false)
    expect(stateOf(bench, 'Q0FAR.ABCDEFGHJB')).toBe('ended Q9ELS unknown')
  })
})

describe('what is offered to a neighbour', () => {
  it('is first what others wait for, then what is for one, then what is for all', () => {
    const { bench, book, hearThere, leave } = start()
    leave()
    bench.durably(() => {
      const letter = { from: 'Q3SND', to: 'Q4RCV', subject: 'a', text: 'b\nc', leftWallMs: 0 }
      bench.store.letters.insert({ ...letter, expiresWallMs: 0, expiryTrusted: false })
    })
    put(
      bench,
      rowOf('A', { kind: 'stations', from: 'Q0FAR' }),
      rowOf('B', { kind: 'weather', from: 'Q0FAR' }),
      rowOf('C', { kind: 'directory', from: 'Q0FAR' }),
      rowOf('D'),
      rowOf('E', { kind: 'withdrawal', from: 'Q0FAR' }),
      rowOf('F', { kind: 'report', to: 'Q3SND', peer }),
    )
    hearThere()
    const offers = book.offers(99_999)
    const kinds = ['withdrawal', 'report', 'message', 'letter', 'notice', 'directory']
    expect(offers.map(({ kind }) => kind)).toEqual([...kinds, 'weather', 'stations'])
    expect(offers[0]).toEqual({ id: 'Q0FAR.ABCDEFGHJE', kind: 'withdrawal', octets: 5, to: '*' })
    const id = expect.stringMatching(/^Q1OWN\.[A-Z2-7]{10}$/)
    expect(offers.slice(2, 4)).toEqual([
      { id, kind: 'message', octets: 5, to: 'Q4RCV' },
      { id, kind: 'letter', octets: 3, to: 'Q4RCV' },
    ])
  })

  it('is as much as there is room for, 160 octets more for each, but the first whatever its length', () => {
    const { bench, book } = start()
    put(bench, rowOf('A', { text: 'ä'.repeat(20) }), rowOf('B'), rowOf('C'))
    expect(book.offers(0)).toHaveLength(1)
    expect(book.offers(364)).toHaveLength(1)
    expect(book.offers(365)).toHaveLength(2)
    expect(book.offers(529)).toHaveLength(2)
    expect(book.offers(530)).toHaveLength(3)
  })

  it.each<[string, Partial<HillRow>, number]>([
    ['a notice', {}, 1],
    ['a notice that ended', { state: 'ended' }, 0],
    ['a notice of a word', { from: 'HUT' }, 0],
    ['news of a word, which are of who tells them', { kind: 'withdrawal', from: 'HUT' }, 1],
    ['a notice that came by it', { trace: `Q0FAR,${peer}` }, 0],
    ['a notice after two hands', { trace: 'Q0FAR,Q9ELS' }, 1],
    ['a notice after three hands', { trace: 'Q0FAR,Q8ELS,Q9ELS' }, 0],
    ['a notice that began here', { trace: '' }, 1],
    ['a report for it', { kind: 'report', from: 'HUT', peer }, 1],
    ['a report for another', { kind: 'report', peer: 'Q9ELS' }, 0],
    ['a report that it has', { kind: 'report', peer, state: 'handed' }, 0],
    ['a message under way to it', { kind: 'message', peer, state: 'handing' }, 1],
    ['a message under way to another', { kind: 'message', peer: 'Q9ELS', state: 'handing' }, 0],
    ['a message that it has', { kind: 'message', peer, state: 'handed' }, 0],
    ['a message that lies here for nobody', { kind: 'message', peer, state: 'here' }, 0],
  ])('%s', (_, change, count) => {
    const { bench, book } = start()
    put(bench, rowOf('A', change))
    expect(book.offers(9999)).toHaveLength(count)
  })

  it('is nothing of a kind that it is not given, and nothing that it has', () => {
    const { bench, ledger, book } = start()
    put(bench, rowOf('A'), rowOf('B', { kind: 'report', peer }), rowOf('C'))
    bench.durably(() => bench.store.hills.noteHas('Q0FAR.ABCDEFGHJA', peer))
    expect(book.offers(9999).map(({ id }) => id)).toEqual([
      ...['Q0FAR.ABCDEFGHJB', 'Q0FAR.ABCDEFGHJC'],
    ])
    const less = bookOf(ledger, { gives: ['message'] })
    expect(less.offers(9999).map(({ kind }) => kind)).toEqual(['report'])
    const other = bookOf(ledger, { call: 'Q9ELS' })
    expect(other.offers(9999).map(({ kind }) => kind)).toEqual(['notice', 'notice'])
  })

  it('is a message only where it leads to its receiver, of a sender who may', () => {
    const { ledger, book, hearThere, leave } = start()
    leave('q1')
    expect(book.offers(9999)).toEqual([])
    hearThere()
    expect(book.offers(9999)).toHaveLength(1)
    expect(bookOf(ledger, { call: 'Q9ELS' }).offers(9999)).toEqual([])
    expect(bookOf(ledger, { gives: ['letter'] }).offers(9999)).toEqual([])
    leave('q2', 'from a word', 'HUT')
    leave('q3', 'to another', 'Q3SND', 'Q5ELS')
    expect(book.offers(9999)).toHaveLength(1)
  })

  it('is nothing while the database cannot be read', () => {
    const { bench, book } = start()
    put(bench, rowOf('A'))
    bench.state.isBroken = true
    expect(book.offers(9999)).toEqual([])
    expect(book.meeting()).toMatchObject({ count: 0, confirmed: 0 })
    expect(book.meet(1)).toBe(false)
    expect(bench.failed).toEqual([
      ...['entries', 'a neighbour', 'a neighbour', 'a neighbour', 'a session with another node'],
    ])
  })
})

describe('what begins to be handed over', () => {
  it('is a message, taken out of the mailbox before it is said, with its age and life', () => {
    const { bench, book, hearThere, leave } = start()
    leave()
    hearThere()
    bench.clock.advanceBy(7 * minuteMs)
    const [offer] = book.offers(9999)
    const entry = {
      ...{ id: offer!.id, kind: 'message', from: 'Q3SND', to: 'Q4RCV', subject: '' },
      ...{ text: 'hello', ageMin: 7, lifeMin: 2 * 24 * 60 - 7, trace: [own] },
    }
    expect(book.begin(offer!.id)).toEqual(entry)
    expect(bench.store.mailbox.findByQuestion('q1')?.state).toBe('passed on')
    expect(stateOf(bench, offer!.id)).toBe(`handing ${peer}`)
    expect(book.begin(offer!.id)).toEqual(entry)
  })

  it('is a message that came from another node, taken out of the mailbox as well', () => {
    const { bench, book, leave } = start()
    leave('hill Q0FAR.ABCDEFGHJA')
    const local = 'hill Q0FAR.ABCDEFGHJA'
    put(bench, rowOf('A', { kind: 'message', to: 'Q4RCV', local }))
    expect(book.begin('Q0FAR.ABCDEFGHJA')).toMatchObject({ trace: ['Q0FAR', own] })
    expect(bench.store.mailbox.findByQuestion(local)?.state).toBe('passed on')
    expect(stateOf(bench, 'Q0FAR.ABCDEFGHJA')).toBe(`handing ${peer}`)
  })

  it('is what goes to everybody, with the nodes that it came by', () => {
    const { bench, book } = start()
    const wallMs = bench.clock.wallMs()
    const times = { writtenWallMs: wallMs - 90_000, expiresWallMs: wallMs + hourMs }
    put(bench, rowOf('A', { trace: 'Q0FAR,Q9ELS', ...times, subject: 'a', text: 'b\nc' }))
    expect(book.begin('Q0FAR.ABCDEFGHJA')).toEqual({
      ...{ id: 'Q0FAR.ABCDEFGHJA', kind: 'notice', from: 'Q3SND', to: '*', subject: 'a' },
      ...{ text: 'b\nc', ageMin: 2, lifeMin: 60, trace: ['Q0FAR', 'Q9ELS', own] },
    })
    expect(stateOf(bench, 'Q0FAR.ABCDEFGHJA')).toBe('here')
  })

  it('has the whole time of a message while a clock is not trusted, and no age or life out of bounds', () => {
    const { bench, book } = start()
    const keptMin = bench.parts.nodeOptions.mailbox.keepMs / minuteMs
    const wallMs = bench.clock.wallMs()
    const life = (letter: string) => {
      const { ageMin, lifeMin } = book.begin(`Q0FAR.ABCDEFGHJ${letter}`)!
      return [ageMin, lifeMin]
    }
    put(
      bench,
      rowOf('A', { writtenWallMs: wallMs, expiresWallMs: wallMs - 1, expiryTrusted: false }),
      rowOf('B', { writtenWallMs: wallMs + dayMs, expiresWallMs: wallMs - dayMs }),
      rowOf('C', { writtenWallMs: 0, expiresWallMs: wallMs + 31 * dayMs }),
      rowOf('D', { writtenWallMs: wallMs, expiresWallMs: wallMs + hourMs }),
    )
    expect(life('A')).toEqual([0, keptMin])
    expect(life('B')).toEqual([0, 0])
    expect(life('C')).toEqual([525_600, 43_200])
    expect(life('D')).toEqual([0, 60])
    bench.state.isTrusted = false
    expect(life('D')).toEqual([0, keptMin])
  })

  it('is nothing that has gone to another meanwhile, has ended, or is not there', () => {
    const { bench, book, leave } = start()
    put(
      bench,
      rowOf('A', { kind: 'message', state: 'handed', peer }),
      rowOf('B', { state: 'ended', outcome: 'expired' }),
      rowOf('C', { kind: 'message', state: 'here', local: 'q9' }),
    )
    leave()
    for (const letter of ['A', 'B', 'C', 'D'])
      expect(book.begin(`Q0FAR.ABCDEFGHJ${letter}`), letter).toBeUndefined()
    bench.state.isBroken = true
    expect(book.begin('Q0FAR.ABCDEFGHJA')).toBeUndefined()
    expect(bench.failed).toEqual(['handing an entry on'])
  })
})
