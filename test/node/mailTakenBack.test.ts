import { describe, expect, it } from 'vitest'
import { perhapsLost } from '../../src/node/mailRules.js'
import { dayMs, mailBench, question } from './mailBench.js'

const from = 'N0CALL-7'
type Bench = ReturnType<typeof mailBench>
const withdraw = (bench: Bench, number: string, asker = from) =>
  bench.box.withdraw!(question(asker, 'Q9-x'), number)
const pass = (bench: Bench, id: number) => bench.durably(() => bench.store.mailbox.setPassedOn(id))
const end = (bench: Bench, id: number, state: 'delivered' | 'expired' | 'refused', reason = 'x') =>
  bench.durably(() => bench.store.mailbox.end(id, state, 77, reason))

describe('what its sender takes back', () => {
  it('ends: its carrier first, then the entry; and it is told with the reason', () => {
    const bench = mailBench()
    bench.entry()
    expect(withdraw(bench, '1')).toEqual({ kind: 'withdrawn', to: 'N0CALL-8', perhaps: false })
    const reason = 'its sender took it back'
    expect(bench.givenUp).toEqual([`B1: ${reason}`])
    expect(bench.store.mailbox.find(1)).toMatchObject({
      ...{ state: 'withdrawn', reason: 'by its sender', endedWallMs: bench.clock.wallMs() },
    })
    expect(bench.events).toEqual([
      {
        ...{ kind: 'given up', text: 'from N0CALL-7, for N0CALL-8: hello', station: from },
        ...{ reference: 'B1', reason },
      },
    ])
  })

  it('may have arrived where it went out, to who collected it', () => {
    const bench = mailBench()
    bench.sending({ to: 'N0CALL' }, 'N0CALL-8')
    expect(withdraw(bench, '1')).toEqual({ kind: 'withdrawn', to: 'N0CALL-8', perhaps: true })
  })

  it('may have been seen where it was shown over a connection', () => {
    const bench = mailBench()
    bench.entry()
    bench.box.showing([1])
    expect(withdraw(bench, '1')).toMatchObject({ perhaps: true })
  })

  it('is known by its number alone, and to who left it alone', () => {
    const bench = mailBench()
    bench.entry()
    bench.entry({ answerTo: 'ann@b.example' })
    for (const [number, asker] of [
      ...[
        ['1', 'N0CALL-8'],
        ['2'],
        ['3'],
        ['B1'],
        ['1 '],
        [' 1'],
        ['x1'],
        ['-1'],
        [''],
        ['1'.repeat(13)],
      ],
    ] as [string, string?][])
      expect(withdraw(bench, number, asker), number).toEqual({ kind: 'unknown' })
    expect(bench.states()).toEqual(['B1 waiting', 'B2 waiting'])
    expect(withdraw(bench, '000000000001')).toMatchObject({ kind: 'withdrawn' })
  })

  it('is told where nothing is left to take back', () => {
    const bench = mailBench()
    bench.entry()
    end(bench, 1, 'delivered')
    const message = {
      ...{ number: '1', to: 'N0CALL-8', text: 'hello', leftWallMs: bench.clock.wallMs() },
      ...{ state: 'delivered', endedWallMs: 77 },
    }
    expect(withdraw(bench, '1')).toEqual({ kind: 'over', message })
    expect([bench.givenUp, bench.events]).toEqual([[], []])
  })

  it('is asked of another node that has it; where nobody can be, that is told', () => {
    const asked: string[] = []
    let can = true
    const bench = mailBench({}, { withdrawElsewhere: (id) => asked.push(id) > 0 && can })
    bench.entry()
    expect(withdraw(bench, '1')).toMatchObject({ kind: 'withdrawn' })
    bench.entry()
    pass(bench, 2)
    expect(withdraw(bench, '2')).toEqual({ kind: 'asked' })
    can = false
    expect(withdraw(bench, '2')).toMatchObject({ kind: 'over', message: { state: 'passed on' } })
    end(bench, 2, 'expired')
    withdraw(bench, '2')
    expect(asked).toEqual(['Q2-e', 'Q2-e'])
    const without = mailBench()
    without.entry()
    pass(without, 1)
    expect(withdraw(without, '1')).toMatchObject({ kind: 'over' })
  })

  it.each([
    ['the mailbox', []],
    ['a message that its sender takes back', ['B1: its sender took it back']],
  ])('stays while the database fails at %s, and that is a fault', (failing, givenUp) => {
    const bench = mailBench()
    bench.entry()
    bench.world.failing = failing
    expect(withdraw(bench, '1')).toEqual({ kind: 'out-of-order' })
    expect(bench.events).toMatchObject([
      { kind: 'fault', text: 'the mailbox', station: from, reference: 'Q9' },
    ])
    expect(bench.states()).toEqual(['B1 waiting'])
    expect(bench.givenUp).toEqual(givenUp)
  })

  it('cannot be while the database is none', () => {
    const bench = mailBench()
    const none = mailBench({}, { store: { ...bench.store, degraded: true } })
    bench.entry()
    expect(withdraw(none, '1')).toEqual({ kind: 'out-of-order' })
    expect(none.events).toHaveLength(1)
  })
})

describe('one text to several that is taken back', () => {
  const several = (given: Parameters<typeof mailBench>[1] = {}) => {
    const bench = mailBench({}, given)
    for (const to of ['Q1A', 'Q2A', 'Q3A', 'Q4A']) bench.entry({ to, questionId: `Q5-x>${to}` })
    return bench
  }

  it('ends wherever it waits, by the number of any of them', () => {
    const bench = several()
    expect(withdraw(bench, '2')).toEqual({ kind: 'several', haveIt: 0 })
    expect(bench.states()).toEqual([1, 2, 3, 4].map((id) => `B${id} withdrawn: by its sender`))
  })

  it('is told with how many have it, or may have it', () => {
    const bench = several({ withdrawElsewhere: () => true })
    end(bench, 1, 'delivered')
    bench.durably(() => bench.store.mailbox.setSending(2, '55', 'Q2A'))
    pass(bench, 3)
    expect(withdraw(bench, '1')).toEqual({ kind: 'several', haveIt: 3 })
    expect(bench.states().map((state) => state.split(':')[0])).toEqual([
      ...['B1 delivered', 'B2 withdrawn', 'B3 passed on', 'B4 withdrawn'],
    ])
  })

  it('is over where none is open', () => {
    const bench = several()
    for (const id of [1, 2]) end(bench, id, 'delivered')
    for (const id of [3, 4]) end(bench, id, 'expired')
    expect(withdraw(bench, '3')).toMatchObject({
      kind: 'over',
      message: { number: '1', state: 'delivered', several: { count: 4, haveIt: 2 } },
    })
  })

  it('stays as far as the database does not take it', () => {
    const bench = several()
    bench.world.failing = 'a message that its sender takes back'
    expect(withdraw(bench, '1')).toEqual({ kind: 'out-of-order' })
    expect(bench.givenUp).toHaveLength(1)
  })
})

describe('what a station has left', () => {
  it('is what is open, then the rest, the newest first, and only its own', () => {
    const bench = mailBench()
    for (const text of ['a', 'b', 'c', 'd', 'e']) bench.entry({ text })
    bench.entry({ from: 'N0CALL-9' })
    bench.entry({ answerTo: 'ann@b.example' })
    end(bench, 5, 'delivered')
    bench.durably(() => bench.store.mailbox.setSending(2, '55', 'N0CALL-8'))
    pass(bench, 1)
    end(bench, 3, 'refused', perhapsLost)
    const common = { to: 'N0CALL-8', leftWallMs: bench.clock.wallMs() }
    const open = { ...common, endedWallMs: undefined }
    expect(bench.box.leftBy!(from)).toEqual([
      { ...open, number: '4', text: 'd', state: 'waiting' },
      { ...open, number: '2', text: 'b', state: 'sending' },
      { ...open, number: '1', text: 'a', state: 'passed on' },
      { ...common, number: '5', text: 'e', state: 'delivered', endedWallMs: 77 },
      { ...common, number: '3', text: 'c', state: 'lost', endedWallMs: 77 },
    ])
  })

  it('is one text to several once, open while any of it is', () => {
    const bench = mailBench()
    for (const to of ['Q1A', 'Q2A', 'Q3A']) bench.entry({ to, questionId: `Q5-x>${to}` })
    bench.entry({ text: 'later' })
    end(bench, 1, 'delivered')
    pass(bench, 2)
    const first = () => bench.box.leftBy!(from).find(({ number }) => number === '1')
    expect(first()).toEqual({
      ...{ number: '1', to: 'Q1A', text: 'hello', leftWallMs: bench.clock.wallMs() },
      ...{ state: 'passed on', endedWallMs: undefined, several: { count: 3, haveIt: 1 } },
    })
    for (const to of ['Q1A', 'Q2A']) bench.entry({ to, questionId: `Q6-x>${to}` })
    for (const id of [2, 3]) end(bench, id, 'expired')
    expect(first()).toMatchObject({ state: 'delivered', endedWallMs: 77 })
    expect(bench.box.leftBy!(from).map(({ number }) => number)).toEqual(['5', '4', '1'])
  })

  it('is not told once 300 others followed, unless it is open', () => {
    const bench = mailBench()
    bench.entry({ text: 'open' })
    bench.entry({ text: 'ended' })
    end(bench, 2, 'delivered')
    const numbers = () => bench.box.leftBy!(from).map(({ number }) => number)
    for (let count = 0; count < 299; count++) bench.entry({ from: 'N0CALL-9' })
    expect(numbers()).toEqual(['1', '2'])
    bench.entry({ from: 'N0CALL-9' })
    expect(numbers()).toEqual(['1'])
  })

  it('is nothing while the database cannot be read', () => {
    const bench = mailBench()
    bench.entry({ expiresWallMs: bench.clock.wallMs() + dayMs })
    bench.world.failing = 'the mailbox'
    expect(bench.box.leftBy!(from)).toEqual([])
  })
})
