import { describe, expect, it } from 'vitest'
import type { MessageState } from '../../src/store/messages.js'
import { dayMs, heldNames, mailBench, minuteMs } from './mailBench.js'
import { trustedClock } from './trustedClock.js'

type Bench = ReturnType<typeof mailBench>
const ended = (bench: Bench, state: MessageState, reason?: string) =>
  bench.durably(() => bench.box.carrierEnded(bench.carrier(), state, reason))

describe('a message that carried an entry', () => {
  it('and was acknowledged has it delivered, which its sender is told', () => {
    const bench = mailBench()
    bench.sending()
    const createdWallMs = bench.clock.wallMs()
    expect(ended(bench, 'acknowledged', 'by its receiver')).toEqual([
      {
        ...{ id: 2, kind: 'report', to: 'N0CALL-7', number: '101', replyTo: undefined },
        text: 'Your message to N0CALL-8 was delivered: hello',
        ...{ questionId: undefined, mailboxId: undefined, radio: 2, state: 'waiting' },
        ...{ attempts: 0, createdWallMs, notAfterWallMs: createdWallMs + 7 * dayMs },
        ...{ endedWallMs: undefined, reason: undefined },
      },
    ])
    expect(bench.store.mailbox.find(1)).toMatchObject({
      ...{ state: 'delivered', endedWallMs: createdWallMs, reason: undefined },
    })
    const station = 'N0CALL-8'
    expect(bench.events).toEqual([
      { kind: 'delivered', text: 'from N0CALL-7: hello', station, reference: 'B1' },
    ])
  })

  it('and was rejected has it refused, with the reason', () => {
    const bench = mailBench()
    bench.sending()
    expect(ended(bench, 'rejected', 'by its receiver')).toMatchObject([
      { to: 'N0CALL-7', text: 'Your message to N0CALL-8 was refused by its radio: hello' },
    ])
    expect(bench.states()).toEqual(['B1 refused: by its receiver'])
    expect(bench.events).toMatchObject([{ kind: 'rejected', reason: 'by its receiver' }])
  })

  it.each(['given up', 'expired'] as const)('and was %s has it wait again', (state) => {
    const bench = mailBench()
    bench.sending()
    expect(ended(bench, state, 'x')).toEqual([])
    expect([bench.states(), bench.events]).toEqual([['B1 waiting'], []])
  })

  it('ends also one that waits again, once', () => {
    const bench = mailBench()
    bench.entry()
    expect(ended(bench, 'acknowledged')).toHaveLength(1)
    expect(ended(bench, 'acknowledged')).toEqual([])
    expect(ended(bench, 'given up')).toEqual([])
    expect(bench.states()).toEqual(['B1 delivered'])
  })

  it('that its sender took back is delivered when it arrived all the same, and nothing else', () => {
    const bench = mailBench()
    bench.sending()
    bench.durably(() => bench.store.mailbox.end(1, 'withdrawn', 1, 'by its sender'))
    expect([ended(bench, 'given up'), ended(bench, 'rejected')]).toEqual([[], []])
    expect(bench.states()).toEqual(['B1 withdrawn: by its sender'])
    expect(ended(bench, 'acknowledged')).toHaveLength(1)
    expect(bench.states()).toEqual(['B1 delivered'])
  })

  it('is one that carries something', () => {
    const bench = mailBench()
    bench.sending()
    const end = (mailboxId: number | undefined) =>
      bench.durably(() => bench.box.carrierEnded(bench.carrier({ mailboxId }), 'acknowledged', ''))
    expect([end(undefined), end(7)]).toEqual([[], []])
    expect(bench.states()).toEqual(['B1 sending'])
  })
})

describe('who is told of an end', () => {
  it('is the sender, with the name and who holds it where it went to one', () => {
    const bench = mailBench({}, { names: heldNames({ CHECK3: 'N0CALL-8' }) })
    bench.sending({ to: 'CHECK3' })
    expect(ended(bench, 'acknowledged')[0]?.text).toBe(
      'Your message to CHECK3 (N0CALL-8) was delivered: hello',
    )
    const call = mailBench()
    call.sending({ to: 'N0CALL' }, 'N0CALL-8')
    expect(ended(call, 'acknowledged')[0]?.text).toBe(
      'Your message to N0CALL-8 was delivered: hello',
    )
  })

  it('is told as much of the text as one message holds', () => {
    const bench = mailBench()
    bench.sending({ text: 'x'.repeat(57) })
    expect(ended(bench, 'acknowledged')[0]?.text).toHaveLength(67)
  })

  it('is nobody here where it came from another node, which is asked with its question', () => {
    const asked: string[] = []
    const isFromElsewhere = (id: string) => asked.push(id) > 0
    const bench = mailBench({}, { isFromElsewhere })
    bench.sending()
    expect(ended(bench, 'acknowledged')).toEqual([])
    expect([asked, bench.states()]).toEqual([['Q1-e'], ['B1 delivered']])
    const here = mailBench({}, { isFromElsewhere: () => false })
    here.sending()
    expect(ended(here, 'acknowledged')).toHaveLength(1)
  })

  it('is told by mail where it came by mail', () => {
    const told: string[] = []
    const emailEnded = (entry: { id: number }, state: string) =>
      void told.push(`B${entry.id} ${state}`)
    const bench = mailBench({}, { emailEnded })
    bench.sending({ from: 'N0DE-10', senderName: 'Ann', answerTo: 'ann@b.example' })
    expect(ended(bench, 'acknowledged')).toEqual([])
    expect(told).toEqual(['B1 delivered'])
    expect(bench.events).toMatchObject([{ text: 'from Ann: hello' }])
    // nobody is told where no mail is configured any more
    const without = mailBench()
    without.sending({ answerTo: 'ann@b.example' })
    expect(ended(without, 'acknowledged')).toEqual([])
  })
})

describe('one text to several', () => {
  const several = () => {
    const bench = mailBench()
    for (const to of ['Q1A', 'Q2A', 'Q3A']) bench.sending({ to, questionId: `Q1-x>${to}` }, to)
    return bench
  }
  const end = (bench: Bench, mailboxId: number, state: MessageState) =>
    bench
      .durably(() => bench.box.carrierEnded(bench.carrier({ mailboxId }), state, 'x'))
      .map(({ to, kind, text, number, radio }) => `${kind} to ${to} ${number} ${radio}: ${text}`)

  it('is told when all have it', () => {
    const bench = several()
    expect([end(bench, 1, 'acknowledged'), end(bench, 2, 'acknowledged')]).toEqual([[], []])
    expect(end(bench, 3, 'acknowledged')).toEqual([
      'report to N0CALL-7 101 2: All 3 have it: hello',
    ])
    const report = bench.store.messages.query().at(-1)!
    expect(report.notAfterWallMs - report.createdWallMs).toBe(7 * dayMs)
    expect(report).toMatchObject({ state: 'waiting', mailboxId: undefined, questionId: undefined })
  })

  it('is told at once of who will not get it', () => {
    const bench = several()
    expect(end(bench, 1, 'rejected')).toEqual([
      'report to N0CALL-7 101 2: Your message to Q1A was refused by its radio: hello',
    ])
  })

  it('is told without those that were taken back, alone as one message', () => {
    const bench = several()
    for (const id of [1, 2]) bench.durably(() => bench.store.mailbox.end(id, 'withdrawn', 1))
    expect(end(bench, 3, 'acknowledged')).toEqual([
      'report to N0CALL-7 101 2: Your message to Q3A was delivered: hello',
    ])
  })
})

describe('what was read over a connection', () => {
  it('is delivered to who read it, and its sender is told', () => {
    const bench = mailBench()
    bench.entry({ to: 'N0CALL' })
    bench.entry({ text: 'taken back' })
    bench.durably(() => bench.store.mailbox.end(2, 'withdrawn', 1))
    bench.sending({ text: 'under way' }, 'N0CALL-9')
    bench.box.handedOver([1, 2, 3, 9], 'N0CALL-8', 4)
    expect(bench.given()).toEqual([
      'report to N0CALL-7 101: Your message to N0CALL-8 was delivered: hello',
      'report to N0CALL-7 102: Your message to N0CALL-8 was delivered: taken back',
    ])
    expect(bench.outgoing[0]?.radio).toBe(4)
    expect(bench.states()).toEqual(['B1 delivered', 'B2 delivered', 'B3 sending'])
    expect(bench.events[0]).toMatchObject({ station: 'N0CALL-8', reference: 'B1' })
    // for whom `reply` means
    const { store } = bench
    expect([1, 2, 3].map((id) => store.mailbox.find(id)?.collectedBy)).toEqual([
      ...['N0CALL-8', 'N0CALL-8', 'N0CALL-9'],
    ])
  })

  it('waits on where that cannot be written', () => {
    const bench = mailBench()
    bench.entry()
    bench.world.failing = 'what was read over a connection'
    bench.box.handedOver([1], 'N0CALL-8', 4)
    expect([bench.states(), bench.outgoing]).toEqual([['B1 waiting'], []])
  })
})

describe('what waits past its time', () => {
  const old = (bench: Bench, count: number, expiresWallMs = bench.clock.wallMs()): void => {
    for (let index = 0; index < count; index++) bench.entry({ text: `${index}`, expiresWallMs })
  }
  const countOf = (bench: Bench): number =>
    bench.states().filter((state) => state.includes('expired')).length

  it('ends, and its sender is told by the first radio', () => {
    const bench = mailBench()
    old(bench, 1)
    old(bench, 1, bench.clock.wallMs() + 1)
    bench.box.expire()
    expect(bench.states()).toEqual(['B1 expired: not collected in time', 'B2 waiting'])
    expect(bench.outgoing).toMatchObject([
      {
        ...{ kind: 'report', to: 'N0CALL-7', radio: 0 },
        text: 'Your message to N0CALL-8 was not collected in time: 0',
      },
    ])
    const station = 'N0CALL-8'
    expect(bench.events).toEqual([
      {
        ...{ kind: 'expired', text: 'from N0CALL-7: 0', station, reference: 'B1' },
        reason: 'not collected in time',
      },
    ])
  })

  it('ends in steps of 25, an eighth of a second apart, while the clock is trusted', () => {
    const bench = mailBench()
    old(bench, 60)
    bench.box.expire()
    expect(countOf(bench)).toBe(25)
    bench.clock.advanceBy(124)
    expect(countOf(bench)).toBe(25)
    bench.clock.advanceBy(1)
    expect(countOf(bench)).toBe(50)
    bench.clock.advanceBy(125)
    expect(countOf(bench)).toBe(60)
    expect(bench.clock.nextAtMs()).toBeUndefined()
  })

  it('has one step after the other, not two, where it is looked meanwhile', () => {
    const bench = mailBench()
    old(bench, 100)
    bench.box.expire()
    bench.clock.advanceBy(100)
    bench.box.expire()
    bench.clock.advanceBy(25)
    expect(countOf(bench)).toBe(50)
    bench.clock.advanceBy(100)
    expect(countOf(bench)).toBe(75)
  })

  it('waits on when the clock is not trusted any more, or the node is stopped', () => {
    let trusted = true
    const bench = mailBench({}, { clockTrust: { ...trustedClock, trusted: () => trusted } })
    old(bench, 30)
    bench.box.expire()
    trusted = false
    bench.clock.advanceBy(minuteMs)
    expect(countOf(bench)).toBe(25)
    const stopped = mailBench()
    old(stopped, 30)
    stopped.box.expire()
    stopped.box.stop()
    stopped.clock.advanceBy(minuteMs)
    expect(countOf(stopped)).toBe(25)
  })

  it.each(['the mailbox', 'what has expired'])(
    'waits on while the database fails at %s',
    (failing) => {
      const bench = mailBench()
      old(bench, 30)
      bench.world.failing = failing
      bench.box.expire()
      bench.clock.advanceBy(minuteMs)
      expect([countOf(bench), bench.outgoing]).toEqual([0, []])
    },
  )
})
