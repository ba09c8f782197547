import { describe, expect, it } from 'vitest'
import type { LifeMark } from '../../../src/node/hills/hillParts.js'
import {
  type Bench,
  type BenchChange,
  dayMs,
  hourMs,
  leaveLetter,
  leaveMail,
  ledgerBench,
  letterOptions,
  own,
  peer,
  putRow,
  stateOf,
} from './ledgerBench.js'

function start(change: BenchChange = {}) {
  const bench = ledgerBench({ letters: letterOptions, ...change })
  return { bench, ledger: bench.make() }
}

const id = 'Q2BBB.ABCDEFGHJK'
describe('the life of a database', () => {
  const markOf = () => {
    const kept: { mark: ReturnType<LifeMark['read']>; writes: number[] } = {
      ...{ mark: undefined, writes: [] },
    }
    const lifeMark: LifeMark = {
      read: () => kept.mark,
      write: (mark) => {
        kept.mark = mark
        kept.writes.push(mark.step)
      },
    }
    return { kept, lifeMark }
  }
  const row = (bench: Bench) => bench.store.hills.peer('0')

  it('has a name, and a number that grows with each step, in it and beside it', () => {
    const { kept, lifeMark } = markOf()
    const { bench, ledger } = start({ lifeMark })
    const { epoch } = ledger.life
    expect(epoch).toMatch(/^[a-z2-7]{8}$/)
    expect(row(bench)).toEqual({ call: '0', epoch, count: 1, confirmed: 0 })
    expect(kept.mark).toBeUndefined()
    ledger.commit('this', () => {})
    expect(row(bench)?.count).toBe(2)
    expect(kept.mark).toEqual({ epoch, step: 2 })
    const again = bench.make()
    expect([again.life.epoch, again.life.isOlder]).toEqual([epoch, false])
    again.commit('this', () => {})
    expect(kept.mark).toEqual({ epoch, step: 3 })
  })

  it.each([
    [0, false],
    [1, true],
  ])('is an older one where the number beside it is %d further: %s', (further, isOlder) => {
    const { kept, lifeMark } = markOf()
    const { bench, ledger } = start({ lifeMark })
    const { epoch } = ledger.life
    kept.mark = { epoch, step: 1 + further }
    const again = bench.make()
    expect(again.life.isOlder).toBe(isOlder)
    expect(again.life.epoch === epoch).toBe(!isOlder)
    expect(bench.notes).toHaveLength(isOlder ? 1 : 0)
  })

  it.each([
    ['that of another database', 'aaaaaaaa'],
    ['there, and the database is new', 'new'],
  ])('is an older one where the name beside it is %s', (_, epoch) => {
    const { kept, lifeMark } = markOf()
    const bench = ledgerBench({ lifeMark, letters: letterOptions })
    if (epoch !== 'new') bench.make()
    kept.mark = { epoch, step: 1 }
    const { life } = bench.make()
    expect(life.isOlder).toBe(true)
    expect(life.epoch).toMatch(/^[a-z2-7]{8}$/)
    expect(row(bench)).toMatchObject({ epoch: life.epoch, count: 1 })
    expect(kept.mark).toEqual({ epoch: life.epoch, step: 1 })
  })
})

describe('a copy in the place of a database', () => {
  const restoredText = 'I went back to an older state. Left something lately? Leave it again'

  function restored(change: BenchChange = {}) {
    const bench = ledgerBench({ letters: letterOptions, ...change })
    const ledger = bench.make()
    leaveMail(bench, 'q1')
    leaveMail(bench, 'q2', { text: 'under way' })
    leaveMail(bench, 'q3', { text: 'by mail', answerTo: 'anna@example.org' })
    leaveMail(bench, 'q4', { text: 'done' })
    leaveMail(bench, 'q5', { text: 'by mail, under way', answerTo: 'anna@example.org' })
    leaveLetter(bench)
    bench.durably(() => {
      for (const sending of [2, 5]) bench.store.mailbox.setSending(sending, '7', 'Q4RCV')
      bench.store.mailbox.end(4, 'delivered', 0)
      bench.store.hills.setPeer({ call: peer, epoch: 'bbbbbbbb', count: 1, confirmed: 1 })
    })
    putRow(bench, { state: 'handed', peer, text: 'with another' })
    putRow(bench, { entryId: 'Q2BBB.RRRRRRRRRR', kind: 'report', state: 'handed', peer })
    bench.durably(() => bench.store.hills.noteHas('Q2BBB.RRRRRRRRRR', peer))
    ledger.commit('a copy', ledger.beginAnew)
    return { bench, ledger }
  }

  it('ends what may have been delivered since, and tells each sender', () => {
    const { bench } = restored()
    expect(bench.messages.map(({ to, text }) => `${to}: ${text}`)).toEqual([
      ...['Q3SND: Your message to Q4RCV is perhaps lost: with another'],
      ...['Q3SND: Your message to Q4RCV is perhaps lost: hello'],
      ...['Q3SND: Your message to Q4RCV is perhaps lost: under way'],
      'Q3SND: Your message to Q4RCV is perhaps lost: a walk',
    ])
    const mails = bench.store.mailbox.recent(9).map(({ state, reason }) => `${state} ${reason}`)
    expect(mails).toEqual([
      ...['refused is perhaps lost', 'refused is perhaps lost', 'waiting undefined'],
      ...['delivered undefined', 'sending undefined'],
    ])
    expect(bench.store.letters.unread()).toEqual([])
    expect(stateOf(bench)).toBe(`ended ${peer} unknown`)
  })

  it('has reports told again, knows nothing of its neighbours, and says so on the board', () => {
    const { bench } = restored()
    const wallMs = bench.clock.wallMs()
    expect(bench.store.hills.find('Q2BBB.RRRRRRRRRR')).toMatchObject({ state: 'here', peer })
    expect(bench.store.hills.peer(peer)).toBeUndefined()
    expect(bench.store.hills.has('Q2BBB.RRRRRRRRRR', peer)).toBe(false)
    expect(bench.notes[0]).toEqual({
      ...{ kind: 'fault', text: 'entries between nodes' },
      reason: 'its database is older than what it has lived: a back-up was put in its place',
    })
    expect(bench.store.notices.current(wallMs, 9)).toEqual([
      {
        ...{ id: 1, questionId: expect.stringMatching(/^restored ./), from: own },
        ...{ text: restoredText, postedWallMs: wallMs, expiryTrusted: true },
        expiresWallMs: wallMs + bench.parts.nodeOptions.notices.keepMs,
      },
    ])
  })

  it('leaves letters as they are where none are kept', () => {
    const { bench } = restored({ letters: undefined })
    expect(bench.store.letters.unread()).toHaveLength(1)
    expect(bench.messages).toHaveLength(3)
  })
})

describe('withdrawing an entry', () => {
  const withdrawal = (bench: Bench) => bench.rows('withdrawal')

  it('that nobody knows does nothing', () => {
    const { bench, ledger } = start()
    expect(ledger.withdraw(id)).toBeUndefined()
    expect(withdrawal(bench)).toEqual([])
  })

  it('that began here and lies here ends it, and no other node needs to know', () => {
    const { bench, ledger } = start()
    leaveMail(bench)
    putRow(bench, { local: 'q1' })
    expect(ledger.withdraw(id)).toBe('withdrawn here; the other nodes are told')
    expect(stateOf(bench)).toBe('ended  withdrawn')
    expect(bench.store.mailbox.findByQuestion('q1')?.state).toBe('withdrawn')
    expect(bench.messages).toHaveLength(1)
    expect(withdrawal(bench)).toEqual([])
  })

  it('that is for all, or came from another node, tells the others', () => {
    const { bench, ledger } = start()
    const wallMs = bench.clock.wallMs()
    bench.state.isTrusted = false
    const notice = { questionId: 'q1', from: 'Q3SND', text: 'x', postedWallMs: 0 }
    bench.durably(() =>
      bench.store.notices.insert({ ...notice, expiresWallMs: 0, expiryTrusted: false }),
    )
    putRow(bench, { kind: 'notice', local: 'q1' })
    putRow(bench, { entryId: 'Q2BBB.BBBBBBBBBB', trace: peer, cameFrom: peer })
    expect(ledger.withdraw(id)).toBe('withdrawn here; the other nodes are told')
    expect(stateOf(bench)).toBe('ended  withdrawn')
    expect(bench.store.notices.current(undefined, 9)).toEqual([])
    ledger.withdraw('Q2BBB.BBBBBBBBBB')
    expect(withdrawal(bench)[0]).toEqual({
      ...{ id: 3, entryId: expect.stringMatching(/^Q1OWN\.[A-Z2-7]{10}$/), kind: 'withdrawal' },
      ...{ from: own, to: '*', subject: '', text: id, writtenWallMs: wallMs, trace: '' },
      ...{ expiresWallMs: wallMs + 15 * dayMs, expiryTrusted: false, cameFrom: undefined },
      ...{ state: 'here', peer: undefined, outcome: undefined, local: undefined },
    })
    expect(withdrawal(bench)[1]?.text).toBe('Q2BBB.BBBBBBBBBB')
    expect(stateOf(bench, 'Q2BBB.BBBBBBBBBB')).toBe('ended  withdrawn')
  })

  it('that is with another node has that one end it', () => {
    const { bench, ledger } = start()
    putRow(bench, { state: 'handed', peer })
    expect(ledger.withdraw(id)).toBe('is with Q2BBB, which is told to end it')
    expect(stateOf(bench)).toBe(`handed ${peer}`)
    expect(withdrawal(bench)).toHaveLength(1)
  })

  it('that has ended says how, and tells the others all the same', () => {
    const { bench, ledger } = start()
    putRow(bench, { state: 'ended', outcome: 'expired' })
    expect(ledger.withdraw(id)).toBe('had ended here (expired); the other nodes are told to end it')
    expect(withdrawal(bench)).toHaveLength(1)
  })

  it('that the database does not take is not withdrawn', () => {
    const { bench, ledger } = start()
    putRow(bench)
    const { reading } = bench.store
    bench.state.isBroken = true
    bench.parts.store.reading = reading
    expect(ledger.withdraw(id)).toBe('not withdrawn: the database does not take it')
    expect(bench.failed).toEqual(['withdrawing an entry'])
    expect(stateOf(bench)).toBe('here')
  })

  it('twice is told once', () => {
    const { bench, ledger } = start()
    putRow(bench, { kind: 'notice' })
    ledger.withdraw(id)
    bench.clock.advanceBy(hourMs)
    ledger.withdraw(id)
    expect(withdrawal(bench)).toHaveLength(1)
  })
})
