import { describe, expect, it } from 'vitest'
import type { Entry } from '../../../src/node/hills/entry.js'
import type { NeighbourOptions } from '../../../src/node/hills/hillParts.js'
import type { HillRow } from '../../../src/store/hills.js'
import {
  type Bench,
  type BenchChange,
  bookOf,
  dayMs,
  entryOf,
  hourMs,
  ledgerBench,
  letterOptions,
  minuteMs,
  own,
  peer,
} from './ledgerBench.js'

function start(change: BenchChange & { neighbour?: Partial<NeighbourOptions> } = {}) {
  const bench = ledgerBench({ letters: letterOptions, ...change })
  const ledger = bench.make()
  return { bench, ledger, book: bookOf(ledger, change.neighbour) }
}

const id = 'Q2BBB.ABCDEFGHJK'
const put = (bench: Bench, change: Partial<HillRow>): void =>
  bench.durably(() =>
    bench.store.hills.insert({
      ...{ entryId: id, kind: 'message', from: 'Q3SND', to: 'Q4RCV', subject: '', text: 'hello' },
      ...{ writtenWallMs: 0, expiresWallMs: 0, expiryTrusted: true, trace: '', state: 'here' },
      ...{ cameFrom: undefined, peer: undefined, outcome: undefined, local: undefined, ...change },
    }),
  )

describe('an offer', () => {
  const message = { id, kind: 'message', octets: 5, to: 'Q4RCV' } as const
  const notice = { id, kind: 'notice', octets: 5, to: '*' } as const
  const refused = (reason: string) => ({ type: 'refuse', reason })

  it('is wanted where nothing is against it', () => {
    const { book } = start()
    expect(book.judge(message)).toEqual({ type: 'want' })
    expect(book.judge({ ...message, kind: 'letter', octets: 1000 })).toEqual({ type: 'want' })
    expect(book.judge({ ...notice, octets: 256 })).toEqual({ type: 'want' })
  })

  it('of what is known is not wanted: a message that ended says how', () => {
    const { bench, book } = start()
    put(bench, {})
    expect(book.judge(message)).toEqual({ type: 'have' })
    expect(book.judge(notice)).toEqual({ type: 'have' })
    bench.durably(() => bench.store.hills.end(id, 'withdrawn'))
    expect(book.judge(message)).toEqual({ type: 'ended', outcome: 'withdrawn' })
    expect(book.judge(notice)).toEqual({ type: 'have' })
  })

  it('is refused of a kind that is not taken, but for reports and withdrawals', () => {
    const { book } = start({ neighbour: { takes: ['notice'] } })
    expect(book.judge(message)).toEqual(refused('kind'))
    expect(book.judge(notice)).toEqual({ type: 'want' })
    for (const kind of ['report', 'withdrawal'] as const)
      expect(book.judge({ ...notice, kind })).toEqual({ type: 'want' })
  })

  it('is refused where it is too long, or its receiver cannot be written to', () => {
    const { book } = start()
    expect(book.judge({ ...message, octets: 257 })).toEqual(refused('size'))
    expect(book.judge({ ...notice, octets: 257 })).toEqual(refused('size'))
    expect(book.judge({ ...message, octets: 256 })).toEqual({ type: 'want' })
    expect(book.judge({ ...message, to: 'HUT' })).toEqual(refused('to'))
    expect(book.judge({ ...notice, to: 'HUT' })).toEqual({ type: 'want' })
    const bare = start({ letters: undefined })
    expect(bare.book.judge({ ...message, kind: 'letter' })).toEqual(refused('kind'))
  })

  it('is refused while the database keeps nothing, or cannot be read', () => {
    const { bench, book } = start()
    bench.state.isBroken = true
    expect(book.judge(message)).toEqual(refused('disk'))
    expect(bench.failed).toEqual(['an entry'])
    bench.state.isBroken = false
    Object.assign(bench.parts.store, { degraded: true })
    expect(book.judge(notice)).toEqual(refused('disk'))
  })
})

describe('an entry that is kept', () => {
  it('is a message: it lies in the mailbox, its receiver is told, and its way is known', () => {
    const { bench, ledger, book } = start()
    const wallMs = bench.clock.wallMs()
    expect(book.keep(entryOf({ trace: ['Q0FAR', peer], id: 'Q0FAR.ABCDEFGHJK' }))).toBe('kept')
    expect(bench.rows()).toEqual([
      {
        ...{ id: 1, entryId: 'Q0FAR.ABCDEFGHJK', kind: 'message', from: 'Q3SND', to: 'Q4RCV' },
        ...{ subject: '', text: 'hello', writtenWallMs: wallMs - 5 * minuteMs },
        ...{ expiresWallMs: wallMs + hourMs, expiryTrusted: true, trace: 'Q0FAR,Q2BBB' },
        ...{ cameFrom: peer, state: 'here', peer: undefined, outcome: undefined },
        local: 'hill Q0FAR.ABCDEFGHJK',
      },
    ])
    const [mail] = bench.store.mailbox.waitingFor('Q4RCV')
    expect(mail).toMatchObject({ from: 'Q3SND', text: 'hello', expiresWallMs: wallMs + hourMs })
    expect(bench.notes).toEqual([
      {
        ...{ kind: 'left', text: 'for Q4RCV: hello', station: 'Q3SND' },
        reference: 'Q0FAR.ABCDEFGHJK',
      },
    ])
    expect(bench.soon).toEqual(['Q4RCV'])
    expect(ledger.routes.next('Q0FAR', [], 0)).toMatchObject({ next: peer, hops: 2 })
    expect(bench.store.hills.has('Q0FAR.ABCDEFGHJK', peer)).toBe(true)
  })

  it('is a letter: its subject is in the log', () => {
    const { bench, book } = start()
    const letter = entryOf({ kind: 'letter', subject: 'a walk', text: 'one\ntwo' })
    expect(book.keep(letter)).toBe('kept')
    expect(bench.store.letters.unread().map(({ text }) => text)).toEqual(['one\ntwo'])
    expect(bench.rows()[0]).toMatchObject({ subject: 'a walk', text: 'one\ntwo', local: '1' })
    expect(bench.notes).toMatchObject([{ text: 'for Q4RCV: a walk' }])
    expect(bench.soon).toEqual(['Q4RCV'])
  })

  it('is a notice: nobody is told of it alone', () => {
    const { bench, ledger, book } = start()
    bench.state.isTrusted = false
    expect(book.keep(entryOf({ kind: 'notice', to: '*' }))).toBe('kept')
    expect(bench.rows()[0]).toMatchObject({ expiryTrusted: false, local: `hill ${id}` })
    expect(bench.store.notices.current(undefined, 9)).toHaveLength(1)
    expect([bench.notes, bench.soon]).toEqual([[], []])
    expect(bench.store.hills.has(id, peer)).toBe(true)
    expect(ledger.routes.next(peer, [], 0)).toBeDefined()
  })

  it('has its time within thirty days, and was not written before the clock began', () => {
    const { bench, book } = start()
    const wallMs = bench.clock.wallMs()
    book.keep(entryOf({ lifeMin: 43_200 }))
    expect(bench.rows()[0]?.expiresWallMs).toBe(wallMs + 30 * dayMs)
    const early = start()
    early.bench.state.wallOffsetMs = minuteMs - wallMs
    early.book.keep(entryOf())
    expect(early.bench.rows()[0]?.writtenWallMs).toBe(0)
  })

  it.each<[string, Partial<Entry>, string]>([
    ['loop', { trace: [own, peer] }, 'that was here'],
    ['sender', { from: 'HUT' }, 'of a word'],
    ['sender', { from: 'HUT', kind: 'notice', to: '*' }, 'for all, of a word'],
    ['sender', { from: 'Q3SND-0' }, 'of a call that no frame has'],
    ['sender', { from: 'Q3SNDDDD' }, 'of a call that is too long for a frame'],
    ['sender', { from: 'Q3SNDDDD', kind: 'letter' }, 'a letter of such a call'],
    ['sender', { from: 'Q3SND-0', kind: 'notice', to: '*' }, 'a notice of such a call'],
    ['sender', { from: 'mum@home' }, 'of a name that is allowed, and that no table takes'],
    ['to', { to: 'HUT' }, 'for a word'],
    ['size', { kind: 'letter', text: 'x'.repeat(1001) }, 'that is too long'],
    ['text', { text: 'one\ntwo' }, 'of two lines'],
    ['text', { kind: 'withdrawal', to: '*', text: 'this' }, 'that is no withdrawal'],
    ['from', { kind: 'stations', to: '*' }, 'that another tells for it'],
  ])('is none (%s): %s', (reason, change) => {
    const { bench, book } = start({ options: { senders: ['mum@home'] } })
    expect(book.keep(entryOf(change))).toEqual({ reason })
    expect(bench.rows()).toEqual([])
    expect(bench.store.mailbox.recent(9)).toEqual([])
    expect(bench.store.letters.count).toBe(0)
  })

  it('is one of a word that is allowed', () => {
    const { bench, book } = start({ options: { senders: ['hut'] } })
    expect(book.keep(entryOf({ from: 'HUT' }))).toBe('kept')
    expect(bench.store.mailbox.waitingFor('Q4RCV').map(({ from }) => from)).toEqual(['HUT'])
  })

  it('is none where the database does not take it, and nobody is told', () => {
    const { bench, ledger, book } = start()
    bench.parts.store.durably = (doing) => {
      bench.failed.push(doing)
      return { ok: false, failure: {} as never }
    }
    expect(book.keep(entryOf())).toBeUndefined()
    const text = `${id} delivered ${own}\nQ4RCV: hello`
    expect(book.keep(entryOf({ kind: 'report', to: 'Q3SND', text }))).toBeUndefined()
    expect(bench.failed).toEqual(['an entry of another node', 'what became of an entry'])
    expect([bench.notes, bench.soon, bench.messages]).toEqual([[], [], []])
    expect(ledger.routes.all(0)).toEqual([])
    bench.state.isBroken = true
    expect(book.keep(entryOf())).toEqual({ reason: 'disk' })
  })
})

describe('a withdrawal that is kept', () => {
  const withdrawal = entryOf({
    ...{
      id: 'Q2BBB.WWWWWWWWWW',
      kind: 'withdrawal',
      from: 'HUT',
      to: '*',
      text: 'Q0FAR.AAAAAAAAAA',
    },
  })
  const subject = { entryId: 'Q0FAR.AAAAAAAAAA', trace: 'Q0FAR' } as const
  const ended = (bench: Bench) => {
    const { state, outcome } = bench.store.hills.find(subject.entryId)!
    return [state, outcome].join(' ').trim()
  }

  it('ends a message that came from who withdraws it, and reports that', () => {
    const { bench, book } = start()
    put(bench, { ...subject, cameFrom: peer })
    expect(book.keep(withdrawal)).toBe('kept')
    expect(ended(bench)).toBe('ended withdrawn')
    expect(bench.rows('report').map(({ text }) => text)).toEqual([
      'Q0FAR.AAAAAAAAAA withdrawn Q0FAR\nQ4RCV: hello',
    ])
    expect(bench.rows('withdrawal')).toMatchObject([{ state: 'here', text: subject.entryId }])
    // It is offered to who handed it over all the same: only what it has been told of is noted.
    expect(bench.store.hills.has(withdrawal.id, peer)).toBe(false)
  })

  it('ends a notice that the other has, too, and takes it out of sight', () => {
    const { bench, book } = start()
    book.keep(entryOf({ id: 'Q2BBB.NNNNNNNNNN', kind: 'notice', to: '*' }))
    const local = 'hill Q2BBB.NNNNNNNNNN'
    put(bench, { ...subject, kind: 'notice', to: '*', cameFrom: 'Q9ELS', local })
    bench.durably(() => bench.store.hills.noteHas(subject.entryId, peer))
    book.keep(withdrawal)
    expect(ended(bench)).toBe('ended withdrawn')
    expect(bench.store.notices.current(0, 9)).toEqual([])
    expect(bench.rows('report')).toEqual([])
  })

  it.each<[string, Partial<HillRow>, string]>([
    ['of what the other does not have', { cameFrom: 'Q9ELS' }, 'here'],
    ['of what began here', { trace: '' }, 'here'],
    ['of what is under way', { cameFrom: peer, state: 'handing', peer: 'Q9ELS' }, 'handing'],
    ['of what has ended', { cameFrom: peer, state: 'ended', outcome: 'expired' }, 'ended expired'],
  ])('does nothing: %s', (_, change, state) => {
    const { bench, book } = start()
    put(bench, { ...subject, ...change })
    expect(book.keep(withdrawal)).toBe('kept')
    expect(ended(bench)).toBe(state)
  })

  it('keeps what comes later from being taken', () => {
    const { bench, book } = start()
    const wallMs = bench.clock.wallMs()
    book.keep(withdrawal)
    expect(bench.store.hills.find(subject.entryId)).toEqual({
      ...{ id: 2, entryId: subject.entryId, kind: 'message', from: peer, to: '*', subject: '' },
      ...{ text: '', writtenWallMs: wallMs, expiresWallMs: wallMs, expiryTrusted: true, trace: '' },
      ...{ cameFrom: peer, state: 'ended', peer: undefined, outcome: 'withdrawn' },
      local: undefined,
    })
    const offer = { id: subject.entryId, kind: 'message', octets: 5, to: 'Q4RCV' } as const
    expect(book.judge(offer)).toEqual({ type: 'ended', outcome: 'withdrawn' })
  })
})

describe('a report that is kept', () => {
  const report = (outcome: string, path: string, more: Partial<Entry> = {}) =>
    entryOf({
      ...{ id: 'Q2BBB.RRRRRRRRRR', kind: 'report', from: 'Q2BBB', to: 'Q3SND' },
      ...{ text: `Q1OWN.AAAAAAAAAA ${outcome} ${path}\nQ4RCV: hello`, ...more },
    })
  const began = { entryId: 'Q1OWN.AAAAAAAAAA', state: 'handed', peer, local: 'q1' } as const
  const leave = (bench: Bench) =>
    bench.durably(() => {
      const life = { leftWallMs: 0, expiresWallMs: 0, expiryTrusted: true }
      const mail = { questionId: 'q1', from: 'Q3SND', to: 'Q4RCV', text: 'hello', ...life }
      bench.store.mailbox.setPassedOn(bench.store.mailbox.insert(mail).id)
    })

  it('of what began here ends it, and tells its sender', () => {
    const { bench, book } = start()
    leave(bench)
    put(bench, began)
    const wallMs = bench.clock.wallMs()
    expect(book.keep(report('delivered', own))).toBe('kept')
    expect(bench.store.hills.find(began.entryId)).toMatchObject({
      ...{ state: 'ended', outcome: 'delivered' },
    })
    expect(bench.store.mailbox.findByQuestion('q1')?.state).toBe('delivered')
    expect(bench.messages.map(({ to, text }) => `${to}: ${text}`)).toEqual([
      'Q3SND: Your message to Q4RCV was delivered: hello',
    ])
    expect(bench.notes).toEqual([
      {
        ...{ kind: 'delivered', text: 'from Q3SND: hello', station: 'Q4RCV' },
        ...{ reference: began.entryId, reason: 'says Q2BBB' },
      },
    ])
    expect(bench.rows('report')).toEqual([
      {
        ...{ id: 2, entryId: 'Q2BBB.RRRRRRRRRR', kind: 'report', from: 'Q2BBB', to: 'Q3SND' },
        ...{ subject: '', text: report('delivered', own).text, writtenWallMs: wallMs },
        ...{ expiresWallMs: wallMs + hourMs, expiryTrusted: true, trace: peer, cameFrom: peer },
        ...{ state: 'ended', peer: undefined, outcome: 'delivered', local: undefined },
      },
    ])
  })

  it('of what was not delivered says that it was given up', () => {
    const { bench, book } = start()
    put(bench, began)
    book.keep(report('expired', own))
    expect(bench.notes).toMatchObject([{ kind: 'given up' }])
    expect(bench.messages.map(({ text }) => text)).toEqual([
      'Your message to Q4RCV was not collected in time: hello',
    ])
  })

  it('of what went by here goes on to the node before, and tells nobody here', () => {
    const { bench, book } = start()
    put(bench, { ...began, entryId: 'Q0FAR.AAAAAAAAAA', trace: 'Q0FAR', local: undefined })
    const text = `Q0FAR.AAAAAAAAAA delivered Q0FAR,${own}\nQ4RCV: hello`
    expect(book.keep(report('', '', { text, lifeMin: 43_200 }))).toBe('kept')
    expect(bench.messages).toEqual([])
    expect(bench.notes).toEqual([])
    expect(bench.store.hills.find('Q0FAR.AAAAAAAAAA')).toMatchObject({ outcome: 'delivered' })
    expect(bench.rows('report')).toMatchObject([
      { state: 'here', peer: 'Q0FAR', outcome: undefined, text },
    ])
  })

  it('of a letter, or of what lies in no mailbox, ends the entry alone', () => {
    const { bench, book } = start()
    leave(bench)
    put(bench, { ...began, kind: 'letter' })
    book.keep(report('delivered', own))
    expect(bench.store.mailbox.findByQuestion('q1')?.state).toBe('passed on')
    expect(bench.messages).toHaveLength(1)
  })

  it('of what this database does not know any more tells its sender all the same', () => {
    const { bench, book } = start()
    expect(book.keep(report('delivered', own))).toBe('kept')
    expect(bench.messages).toHaveLength(1)
  })

  it.each([
    ['delivered', 'expired', 0],
    ['unknown', 'unknown', 0],
    ['unknown', 'delivered', 1],
    ['expired', 'unknown', 0],
  ])('of what had ended here (%s) and is %s now is told %d times', (before, now, count) => {
    const { bench, book } = start()
    put(bench, { ...began, state: 'ended', outcome: before })
    expect(book.keep(report(now, own))).toBe('kept')
    expect(bench.messages).toHaveLength(count)
    expect(bench.notes).toHaveLength(count)
    expect(bench.store.hills.find(began.entryId)?.outcome).toBe(count === 1 ? now : before)
    expect(bench.rows('report')).toHaveLength(1)
  })

  it.each<[string, Partial<HillRow>]>([
    ['lies here', { state: 'here', peer: undefined }],
    ['lies here, and goes to it', { state: 'here', peer }],
    ['is with another', { state: 'handed', peer: 'Q9ELS' }],
    ['is under way to another', { state: 'handing', peer: 'Q9ELS' }],
  ])('is not believed of what %s', (_, change) => {
    const { bench, book } = start()
    put(bench, { ...began, ...change })
    expect(book.keep(report('delivered', own))).toEqual({ reason: 'peer' })
    expect(bench.rows('report')).toEqual([])
    expect(bench.messages).toEqual([])
  })

  it('is taken of whoever tells it, of what ended here with nobody, with the nodes that it came by', () => {
    const { bench, book } = start()
    put(bench, { ...began, state: 'ended', outcome: 'unknown', peer: undefined })
    const more = { from: 'HUT', id: 'Q0FAR.RRRRRRRRRR', trace: ['Q0FAR', peer] }
    expect(book.keep(report('delivered', own, more))).toBe('kept')
    expect(bench.messages).toHaveLength(1)
    expect(bench.rows('report')).toMatchObject([{ from: 'HUT', trace: 'Q0FAR,Q2BBB' }])
  })

  it('is believed of what is under way to it', () => {
    const { bench, book } = start()
    put(bench, { ...began, state: 'handing' })
    expect(book.keep(report('delivered', own))).toBe('kept')
  })

  it('is none of another form, or that goes another way', () => {
    const { bench, book } = start()
    put(bench, began)
    expect(book.keep(report('delivered', 'Q0FAR'))).toEqual({ reason: 'text' })
    expect(book.keep(report('gone', own))).toEqual({ reason: 'text' })
    expect(bench.rows('report')).toEqual([])
  })
})
