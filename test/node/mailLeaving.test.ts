import { describe, expect, it } from 'vitest'
import {
  knownEntry,
  lastCollectedFrom,
  receiverOf,
  refusalOf,
  tooLongWith,
  waitingFor,
} from '../../src/node/mailRules.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import { dayMs, heldNames, mailBench, minuteMs, question } from './mailBench.js'
import { trustedClock } from './trustedClock.js'

const outOfOrder = { ok: false, reason: 'out-of-order' }

describe('a message that somebody leaves', () => {
  it('is kept with who left it, for whom and how long, and is told', () => {
    const bench = mailBench()
    const left = bench.box.leave(question('N0CALL-7', 'Q4-x'), ' n0call-8 ', ' meet {here} ')
    expect(left).toEqual({ ok: true, waitingCount: 1, keptMs: 7 * dayMs })
    const wallMs = bench.clock.wallMs()
    expect(bench.store.mailbox.find(1)).toMatchObject({
      ...{ questionId: 'Q4-x', from: 'N0CALL-7', to: 'N0CALL-8', text: 'meet (here)' },
      ...{ leftWallMs: wallMs, expiresWallMs: wallMs + 7 * dayMs, expiryTrusted: true },
      ...{ state: 'waiting', number: undefined },
    })
    expect(bench.events).toEqual([
      {
        ...{ kind: 'left', text: 'for N0CALL-8: meet (here)', station: 'N0CALL-7' },
        reference: 'B1',
      },
    ])
  })

  it('is one, however often its question is handled, and what says the same and waits is it', () => {
    const bench = mailBench()
    bench.heard('N0CALL-8')
    const leave = (id: string, text: string) =>
      bench.box.leave(question('N0CALL-7', id), 'N0CALL-8', text)
    expect(leave('Q1-x', 'hello')).toMatchObject({ waitingCount: 1 })
    bench.clock.advanceBy(1)
    expect(bench.given()).toHaveLength(1)
    expect(leave('Q1-x', 'hello')).toMatchObject({ ok: true, waitingCount: 1 })
    expect(leave('Q2-x', 'hello')).toMatchObject({ ok: true, waitingCount: 1 })
    bench.clock.advanceBy(1)
    expect(bench.given()).toEqual([])
    expect(leave('Q3-x', 'hello there')).toMatchObject({ ok: true, waitingCount: 2 })
    expect(bench.events).toHaveLength(2)
  })

  it('has time from when the clock is trusted', () => {
    const bench = mailBench({}, { clockTrust: { ...trustedClock, trusted: () => false } })
    bench.box.leave(question('N0CALL-7'), 'N0CALL-8', 'hello')
    expect(bench.store.mailbox.find(1)?.expiryTrusted).toBe(false)
  })

  it('is for a tactical name, whoever holds it', () => {
    const bench = mailBench({}, { names: heldNames({ CHECK3: 'Q1ABC-7' }) })
    bench.heard('Q1ABC-7', 0, 3)
    bench.box.leave(question('N0CALL-7'), 'check3', 'hello')
    expect(bench.store.mailbox.find(1)?.to).toBe('CHECK3')
    bench.clock.advanceBy(1)
    expect(bench.outgoing).toMatchObject([{ to: 'Q1ABC-7', radio: 3 }])
  })

  it.each(['a mailbox', 'N0DE-10', 'HELLO', '12345', 'CQ', 'ALL', 'NOCALL-16', 'N0CALLLL', ''])(
    'is not taken for "%s"',
    (to) => {
      const bench = mailBench()
      const left = bench.box.leave(question('N0CALL-7'), to, 'hello')
      expect(left).toEqual({ ok: false, reason: 'bad-call' })
      expect([bench.events, bench.store.mailbox.openCount]).toEqual([[], 0])
    },
  )

  it.each(['the mailbox', 'a message that somebody leaves'])(
    'is not taken while the database fails at %s, and that is a fault',
    (failing) => {
      const bench = mailBench()
      bench.world.failing = failing
      const left = bench.box.leave(question('N0CALL-7', 'Q4-x'), 'N0CALL-8', 'hello')
      expect(left).toEqual(outOfOrder)
      expect(bench.events).toEqual([
        {
          ...{ kind: 'fault', text: 'the mailbox', station: 'N0CALL-7', reference: 'Q4' },
          reason: 'its database cannot be used: nothing is taken, or handed out, until it can',
        },
      ])
      expect(bench.store.mailbox.openCount).toBe(0)
    },
  )

  it('is not taken by a database that is none', () => {
    const bench = mailBench()
    const store = { ...bench.store, degraded: true }
    const none = mailBench({}, { store })
    expect(none.box.leave(question('N0CALL-7'), 'N0CALL-8', 'hello')).toEqual(outOfOrder)
  })

  it('is refused with how much of it is too long, its sender in front', () => {
    const bench = mailBench()
    // 67 characters go; 'N0CALL-7: ' takes ten
    const leave = (count: number) =>
      bench.box.leave(question('N0CALL-7', `Q${count}-x`), 'N0CALL-8', 'x'.repeat(count))
    expect(leave(57)).toMatchObject({ ok: true })
    expect(leave(60)).toEqual({
      ...{ ok: false, reason: 'too-long', excessCharacters: 3, charactersMax: 57 },
    })
    expect(tooLongWith('x'.repeat(80), 'xxx')).toMatchObject({ charactersMax: 0 })
  })
})

describe('a receiver', () => {
  const toldAfter = (agoMs: number): number => {
    const bench = mailBench()
    bench.heard('N0CALL-8', agoMs, 2)
    bench.box.tellSoon('N0CALL-8')
    bench.entry()
    bench.clock.advanceBy(0)
    if (bench.outgoing.length > 0) expect(bench.outgoing[0]).toMatchObject({ radio: 2 })
    return bench.outgoing.length
  }

  it('is told after what is being answered now where it was heard within ten minutes', () => {
    expect([toldAfter(10 * minuteMs - 1), toldAfter(10 * minuteMs)]).toEqual([1, 0])
  })

  it('is not where it was never heard, or in a time to come', () => {
    expect(toldAfter(-dayMs)).toBe(0)
    const bench = mailBench()
    bench.entry()
    bench.box.tellSoon('N0CALL-8')
    bench.clock.advanceBy(minuteMs)
    expect(bench.outgoing).toEqual([])
  })

  it('is a station that has a call sign, and not this one', () => {
    const options = defaultNodeOptions({
      call: 'N0DE-10',
      aliases: [{ name: 'Q1NFO', services: [] }],
    })
    const calls = ['n0call-7', ' Q1ABC ', 'N0DE-10', 'N0DE-9', 'Q1NFO', 'QABC', '123', 'Q1 ABC']
    expect(calls.map((call) => receiverOf(call, options))).toEqual([
      ...['N0CALL-7', 'Q1ABC', undefined, 'N0DE-9', undefined, undefined, undefined, undefined],
    ])
  })
})

describe('quotas', () => {
  const limits = { perSender: 2, perReceiver: 2, total: 3 }
  const refused = (bench: ReturnType<typeof mailBench>, from: string, to: string, id = 'Q99-x') =>
    refusalOf(
      bench.store,
      { ...bench.parts.options.mailbox, ...limits },
      question(from, id),
      to,
      'new',
    )

  it('of a sender, a receiver and all say which, with how much it is', () => {
    const bench = mailBench()
    bench.entry({ from: 'Q1A', to: 'Q2A' })
    expect(refused(bench, 'Q1A', 'Q2A')).toBeUndefined()
    bench.entry({ from: 'Q1A', to: 'Q2A', text: 'more' })
    expect(refused(bench, 'Q1A', 'Q3A')).toEqual({ ok: false, reason: 'sender-quota', limit: 2 })
    expect(refused(bench, 'Q3A', 'Q2A')).toEqual({ ok: false, reason: 'addressee-quota', limit: 2 })
    expect(refused(bench, 'Q3A', 'Q3A')).toBeUndefined()
    bench.entry({ from: 'Q4A', to: 'Q4A' })
    expect(refused(bench, 'Q3A', 'Q3A')).toEqual({ ok: false, reason: 'mailbox-full' })
  })

  it('count one text to several once, by its first', () => {
    const bench = mailBench()
    bench.entry({ from: 'Q1A', to: 'Q2A' })
    bench.entry({ from: 'Q1A', to: 'Q3A', questionId: 'Q50-x>Q3A' })
    expect(refused(bench, 'Q1A', 'Q4A', 'Q51-x>Q4A')?.reason).toBe('sender-quota')
    const more = { ...limits, total: 9 }
    const further = question('Q1A', 'Q50-x>Q4A')
    const { mailbox } = bench.parts.options
    expect(refusalOf(bench.store, { ...mailbox, ...more }, further, 'Q4A', 'new')).toBeUndefined()
  })

  it('refuse nothing that was left already, however long', () => {
    const bench = mailBench()
    const text = 'x'.repeat(80)
    bench.entry({ from: 'Q1A', to: 'Q2A', text, questionId: 'Q7-x' })
    bench.entry({ from: 'Q1A', to: 'Q2A', text: 'b' })
    const { mailbox } = bench.parts.options
    const again = question('Q1A', 'Q7-x')
    expect(refusalOf(bench.store, { ...mailbox, ...limits }, again, 'Q2A', text)).toBeUndefined()
    expect(knownEntry(bench.store, question('Q1A', 'Q8-x'), 'Q2A', 'b')?.id).toBe(2)
    expect(knownEntry(bench.store, question('Q1A', 'Q8-x'), 'Q2A', 'c')).toBeUndefined()
  })
})

describe('what waits for a station', () => {
  it('is for it, for its call and for a name that it holds, oldest first', () => {
    const names = heldNames({ CHECK3: 'Q1ABC-7', BASE: 'nobody' })
    const bench = mailBench({}, { names })
    for (const to of ['CHECK3', 'Q1ABC-7', 'BASE', 'Q1ABC', 'CHECK3', 'Q1ABC-8'])
      bench.entry({ to })
    expect(waitingFor(bench.parts, 'Q1ABC-7').map(({ id }) => id)).toEqual([1, 2, 4, 5])
    expect(waitingFor({ store: bench.store }, 'Q1ABC-7').map(({ id }) => id)).toEqual([2, 4])
  })

  it('is told with its reference, who left it and whether it was shown; not under way', () => {
    const bench = mailBench()
    bench.entry()
    bench.entry({ text: 'by mail', from: 'N0DE-10', senderName: 'Ann', answerTo: 'a@b.example' })
    bench.sending({ text: 'under way' })
    bench.box.showing([2])
    const leftWallMs = bench.clock.wallMs()
    expect(bench.box.waitingFor('n0call-8')).toEqual([
      { id: 'B1', from: 'N0CALL-7', text: 'hello', leftWallMs, shown: false },
      { id: 'B2', from: 'Ann', text: 'by mail', leftWallMs, shown: true },
    ])
  })

  it.each([
    ['waitingFor', []],
    ['lastCollectedFrom', undefined],
    ['leftForSeveral', undefined],
  ] as const)('is nothing to %s while the database cannot be read', (name, nothing) => {
    const bench = mailBench()
    bench.entry({ questionId: 'Q1-x>A' })
    bench.sending({ from: 'N0CALL-9' })
    const call = name === 'leftForSeveral' ? 'N0CALL-7' : 'N0CALL-8'
    expect(bench.box[name]!(call)).not.toEqual(nothing)
    bench.world.failing = 'the mailbox'
    expect(bench.box[name]!(call)).toEqual(nothing)
  })

  it('is not shown over a connection where that cannot be noted', () => {
    const bench = mailBench()
    bench.entry()
    bench.world.failing = 'what is shown over a connection'
    expect(bench.box.showing([1])).toBe(false)
    expect(bench.store.mailbox.find(1)?.shown).toBe(false)
    bench.world.failing = ''
    expect(bench.box.showing([1])).toBe(true)
  })
})

describe('who left what a station collected last', () => {
  it('is that of what ended last, or is under way; not of what expired or came by mail', () => {
    const bench = mailBench()
    const last = () => lastCollectedFrom(bench.store.mailbox, 'N0CALL-8')
    expect(last()).toBeUndefined()
    const end = (id: number, state: 'delivered' | 'expired', wallMs: number) =>
      bench.durably(() => bench.store.mailbox.end(id, state, wallMs))
    for (const from of ['Q1A', 'Q2A', 'Q3A', 'Q4A']) bench.sending({ from })
    bench.sending({ from: 'Q5A' }, 'N0CALL-9')
    bench.sending({ from: 'Q6A', answerTo: 'a@b.example' })
    bench.entry({ from: 'Q7A' })
    expect(last()).toBe('Q4A')
    end(1, 'delivered', 50)
    end(2, 'delivered', 40)
    end(3, 'expired', 60)
    expect(last()).toBe('Q4A')
    end(4, 'delivered', 50)
    expect(last()).toBe('Q4A')
    end(4, 'expired', 70)
    expect(last()).toBe('Q1A')
  })

  it('is not looked for beyond the last 300', () => {
    const bench = mailBench()
    bench.sending({ from: 'Q1A' })
    for (let count = 1; count < 300; count++) bench.entry()
    expect(bench.box.lastCollectedFrom!('N0CALL-8')).toBe('Q1A')
    bench.entry()
    expect(bench.box.lastCollectedFrom!('N0CALL-8')).toBeUndefined()
  })
})
