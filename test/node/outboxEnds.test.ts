import { describe, expect, it } from 'vitest'
import { minuteMs, outboxBench, refused, sent, tooLate } from './outboxBench.js'

const newer = 'a newer question came'

describe('a newer question of the same station', () => {
  it('ends what is left of an answer that has begun, all of it before anything else goes out', () => {
    const bench = outboxBench()
    bench.add(['one', 'two'])
    bench.end()
    bench.box.newerQuestion('N0CALL-7', 2)
    expect(bench.states()).toEqual([`one: given up, 1, ${newer}`, `two: given up, 0, ${newer}`])
    expect(bench.lost).toEqual([])
    expect(bench.texts()).toEqual(['one'])
    bench.clock.advanceBy(minuteMs)
    expect(bench.texts()).toEqual([])
    bench.add(['new'], { questionId: 2 })
    expect(bench.texts()).toEqual(['new'])
  })

  it('has one that has not begun go out once, and no more', () => {
    const bench = outboxBench()
    bench.add(['one', 'two'])
    bench.box.newerQuestion('N0CALL-7', 2)
    bench.end()
    // nothing is waited for before the second
    expect(bench.texts()).toEqual(['one', 'two'])
    bench.end()
    bench.clock.advanceBy(8_000)
    expect(bench.texts()).toEqual([])
    expect(bench.states()).toEqual([`one: given up, 1, ${newer}`, `two: given up, 1, ${newer}`])
  })

  it('gives the room of what waits for its acknowledgement to the next', () => {
    const bench = outboxBench()
    bench.add(['one', 'two'])
    bench.end()
    expect(bench.texts()).toEqual(['one'])
    bench.add(['new'], { questionId: 2 })
    expect(bench.texts()).toEqual([])
    bench.box.newerQuestion('N0CALL-7', 2)
    expect(bench.texts()).toEqual(['new'])
  })

  it.each([
    ['a call for help', { kind: 'emergency' }],
    ['mail', { kind: 'mailbox' }],
    ['what answers no question', { questionId: undefined }],
    ['its own answer', { questionId: 2 }],
    ['a newer answer', { questionId: 3 }],
    ['what goes to another station', { to: 'N0CALL-8' }],
  ] as const)('touches nothing of %s', (_, change) => {
    const bench = outboxBench()
    bench.add(['hi'], change)
    bench.end()
    bench.box.newerQuestion('N0CALL-7', 2)
    bench.clock.advanceBy(8_000)
    expect(bench.texts()).toEqual(['hi', 'hi'])
    expect(bench.box.openCount).toBe(1)
  })
})

describe('a station that only says again what it gets', () => {
  it('gets nothing more, and nothing is left of what was for it', () => {
    const bench = outboxBench()
    bench.add(['one', 'two'])
    bench.add(['mail'], { kind: 'mailbox', questionId: undefined })
    bench.add(['other'], { to: 'N0CALL-8', questionId: 3 })
    bench.box.endAll('N0CALL-7', 'it is a machine')
    expect(bench.states()).toEqual([
      ...['one', 'two', 'mail'].map((text) => `${text}: given up, 0, it is a machine`),
      'other: waiting, 0, undefined',
    ])
    expect(bench.frames.map(({ text, takenBack }) => [text, takenBack])).toEqual([
      ['one', 'its message has ended: given up'],
      ['mail', 'its message has ended: given up'],
      ['other', undefined],
    ])
    bench.clock.advanceBy(minuteMs)
    expect(bench.frames).toHaveLength(3)
  })

  it('nor is ended twice what ends when the next is sent meanwhile', () => {
    const bench = outboxBench()
    bench.add(['one', 'two'])
    bench.world.endsAtOnce = tooLate('waited')
    bench.world.followedBy = ({ text }) =>
      text === 'one' ? [bench.message({ text: 'report', kind: 'report', questionId: 9 })] : []
    bench.box.endAll('N0CALL-7', 'it is a machine')
    expect(bench.ends).toEqual([
      'one: given up, it is a machine',
      'two: expired, waited',
      'report: expired, waited',
    ])
  })
})

describe('mail', () => {
  it('that is taken back is given up, also while it is on its way, and its station goes on', () => {
    const bench = outboxBench()
    bench.add(['one', 'two'], { kind: 'mailbox', mailboxId: 4, questionId: undefined })
    bench.add(['three'], { kind: 'mailbox', mailboxId: 5, questionId: undefined })
    expect([4, 5, 6].map((id) => bench.box.hasOpen(id))).toEqual([true, true, false])
    bench.box.giveUpCarrier(4, 'its sender took it back')
    expect(bench.frames[0]?.takenBack).toBe('its message has ended: given up')
    const reason = 'its sender took it back'
    expect(bench.states()).toEqual([
      `one: given up, 0, ${reason}`,
      `two: given up, 0, ${reason}`,
      'three: waiting, 0, undefined',
    ])
    expect([4, 5, 6].map((id) => bench.box.hasOpen(id))).toEqual([false, true, false])
    expect(bench.texts().at(-1)).toBe('three')
  })
})

describe('a report that is not acknowledged', () => {
  const report = { kind: 'report', questionId: undefined } as const
  const parked = () => {
    const bench = outboxBench()
    bench.add(['told', 'also'], report)
    bench.world.endsAtOnce = sent
    bench.end()
    bench.clock.advanceBy(40_000)
    return bench
  }

  it('waits for its station to be heard, is told so, and leaves the way to the next', () => {
    const bench = parked()
    expect(bench.texts()).toEqual(['told', 'told', 'told', 'also'])
    expect(bench.states()).toEqual(['told: parked, 3, undefined', 'also: waiting, 1, undefined'])
    expect(bench.events).toEqual([
      {
        ...{ kind: 'held', text: 'told', station: 'N0CALL-7', radio: 0, reference: 'M1' },
        reason: 'until its station is heard again',
      },
    ])
    expect([bench.box.openCount, bench.box.parkedCount]).toEqual([2, 1])
    expect(bench.ends).toEqual([])
  })

  it('goes out when its station is heard, as often as at first', () => {
    const bench = parked()
    bench.clock.advanceBy(minuteMs)
    bench.texts()
    bench.box.stationHeard('N0CALL-8')
    expect(bench.texts()).toEqual([])
    bench.box.stationHeard('N0CALL-7')
    expect(bench.store.messages.find(1)?.state).toBe('waiting')
    expect(bench.box.parkedCount).toBe(0)
    expect(bench.frames.at(-1)).toMatchObject({ text: 'told', priority: 'mailbox' })
    bench.clock.advanceBy(24_000)
    expect(bench.texts()).toEqual(['told', 'told', 'told'])
  })

  it('is given up after it waited twice: nine transmissions, where one has two repeats', () => {
    const bench = outboxBench()
    bench.world.endsAtOnce = sent
    bench.add(['told'], report)
    const counts: number[] = []
    for (let turn = 0; turn < 4; turn++) {
      bench.clock.advanceBy(40_000)
      counts.push(bench.frames.length)
      bench.box.stationHeard('N0CALL-7')
    }
    expect(counts).toEqual([3, 6, 9, 9])
    expect(bench.events.map(({ kind, reason }) => [kind, reason])).toEqual([
      ['held', 'until its station is heard again'],
      ['held', 'until its station is heard again'],
      ['given up', 'not acknowledged after 3 transmissions'],
    ])
  })

  it('that waits expires when its time is over, also in the next run', () => {
    const reason = 'its station was not heard again in time'
    const bench = parked()
    bench.clock.advanceTo(20 * minuteMs - 1)
    expect(bench.store.messages.find(1)?.state).toBe('parked')
    bench.clock.advanceBy(1)
    expect(bench.store.messages.find(1)).toMatchObject({ state: 'expired', reason })
    const next = outboxBench()
    next.add(['told'], { ...report, state: 'parked' })
    expect(next.frames).toEqual([])
    next.clock.advanceTo(20 * minuteMs - 1)
    expect(next.box.parkedCount).toBe(1)
    next.clock.advanceBy(1)
    expect(next.states()).toEqual([`told: expired, 0, ${reason}`])
  })

  it('that goes out again is not ended by the time for which it would have waited', () => {
    const bench = outboxBench()
    bench.add(['told'], { ...report, state: 'parked' })
    bench.clock.advanceTo(20 * minuteMs - 1)
    bench.box.stationHeard('N0CALL-7')
    bench.end()
    bench.clock.advanceBy(1)
    expect(bench.box.openCount).toBe(1)
  })

  it('and another one are sent now where they were sent before', () => {
    const bench = outboxBench()
    const state = 'parked'
    const [first, second] = [1, 2].map((number) =>
      bench.message({ ...report, state, text: `${number}`, number: `${number}` }),
    )
    bench.box.add([
      { ...first!, attempts: 1 },
      { ...second!, attempts: 1 },
    ])
    bench.box.stationHeard('N0CALL-7')
    expect(bench.texts()).toEqual(['1'])
    bench.box.resend('N0CALL-7')
    expect(bench.texts()).toEqual(['2'])
    // of which nothing went out waits for its turn
    const never = outboxBench()
    never.add(['one', 'two'], { ...report, state })
    never.box.stationHeard('N0CALL-7')
    never.box.resend('N0CALL-7')
    expect(never.texts()).toEqual(['one'])
  })

  it('of which nothing went out yet waits for its first copy', () => {
    const bench = outboxBench({ gapsMs: [] })
    bench.add(['told'], report)
    bench.end(refused('cut', { airtimeMs: 1 }))
    expect(bench.states()).toEqual(['told: parked, 0, undefined'])
    bench.box.stationHeard('N0CALL-7')
    expect(bench.texts()).toEqual(['told', 'told'])
  })

  it('waits all the same where the database does not take it', () => {
    const bench = outboxBench({ gapsMs: [] })
    bench.world.endsAtOnce = sent
    bench.world.failing = 'a message that waits'
    bench.add(['told'], report)
    bench.clock.advanceBy(30_000)
    expect(bench.box.parkedCount).toBe(1)
    expect(bench.states()).toEqual(['told: waiting, 1, undefined'])
    bench.world.failing = ''
    bench.store.durably('test', () => bench.store.messages.setState(1, 'parked'))
    bench.world.failing = 'a message that waited'
    bench.box.stationHeard('N0CALL-7')
    expect(bench.states()).toEqual(['told: parked, 2, undefined'])
  })
})

describe('what waits for a station, sent now', () => {
  it('is what was sent or is to be repeated, and counts as no further try', () => {
    const bench = outboxBench({ window: 3 })
    bench.world.endsAtOnce = sent
    bench.add(['one', 'two'])
    bench.world.endsAtOnce = undefined
    bench.add(['mail'], { kind: 'mailbox', questionId: undefined })
    bench.texts()
    expect(bench.box.resend('N0CALL-7')).toBe(3)
    expect(bench.texts()).toEqual(['one', 'two'])
    expect(bench.box.resend('N0CALL-8')).toBe(0)
    // what it would have waited for is cancelled
    bench.clock.advanceBy(8_000)
    expect(bench.texts()).toEqual([])
    bench.frames.at(-2)!.end(sent)
    bench.clock.advanceBy(8_000)
    // after the gap of a first transmission
    expect(bench.texts()).toEqual(['one'])
  })

  it('takes back one try of those that were made', () => {
    const bench = outboxBench()
    bench.world.endsAtOnce = sent
    bench.add(['one'])
    bench.clock.advanceBy(8_000)
    bench.box.resend('N0CALL-7')
    expect(bench.texts()).toEqual(['one', 'one', 'one'])
    // as after the second
    bench.clock.advanceBy(15_999)
    expect([bench.texts(), bench.box.openCount]).toEqual([[], 1])
    bench.clock.advanceBy(1)
    expect(bench.texts()).toEqual(['one'])
  })

  it('is also what wants to be repeated and waits for others', () => {
    const bench = outboxBench({ window: 1 })
    const messages = [bench.message({ text: 'one' }), bench.message({ text: 'two', number: '12' })]
    bench.box.add(messages.map((message) => ({ ...message, attempts: 1 })))
    expect(bench.texts()).toEqual(['one'])
    expect(bench.box.resend('N0CALL-7')).toBe(2)
    expect(bench.texts()).toEqual(['two'])
  })
})

describe('what was promised', () => {
  it('is the parts of answers that have not gone out, those of one that has begun first', () => {
    const bench = outboxBench()
    bench.add(['one', 'fifteen'], { radio: 1 }, 2)
    bench.add(['later'], { questionId: 2 }, 3)
    bench.add(['mail'], { kind: 'mailbox', questionId: undefined })
    bench.add(['sos'], { kind: 'emergency' })
    const promised = { radio: 1, turn: 2, deadlineMs: 20 * minuteMs }
    const later = { ...promised, radio: 0, turn: 3, octetCount: 34 + 5 }
    expect(bench.box.promised()).toEqual([
      { ...promised, octetCount: 34 + 3 },
      { ...promised, octetCount: 34 + 7 },
      later,
    ])
    bench.frames.find(({ text }) => text === 'one')!.end(sent)
    expect(bench.box.promised()).toEqual([{ ...promised, turn: -1, octetCount: 34 + 7 }, later])
  })
})

describe('an asker who asks the same again', () => {
  it.each(['given up', 'expired'] as const)('has what was %s, with new time before it', (state) => {
    const bench = outboxBench()
    const { id } = bench.message()
    bench.store.durably('test', () => bench.store.messages.end(id, state, 1, 'why'))
    bench.clock.advanceBy(30 * minuteMs)
    expect(bench.box.sendAgain(1)).toBe(true)
    expect(bench.frames).toMatchObject([
      { payload: ':N0CALL-7 :hi{11', notAfterMs: 50 * minuteMs, turn: 0 },
    ])
  })

  it.each(['sent', 'acknowledged', 'rejected'] as const)('has nothing that was %s', (state) => {
    const bench = outboxBench()
    const { id } = bench.message()
    bench.store.durably('test', () => bench.store.messages.end(id, state, 1, 'why'))
    expect(bench.box.sendAgain(1)).toBe(false)
    expect(bench.frames).toEqual([])
  })

  it('has nothing that a newer question ended, and nothing that is under way', () => {
    const bench = outboxBench()
    bench.add(['one'])
    expect(bench.box.sendAgain(1)).toBe(false)
    bench.end()
    bench.box.newerQuestion('N0CALL-7', 2)
    expect(bench.box.sendAgain(1)).toBe(false)
    expect(bench.texts()).toEqual(['one'])
  })

  it.each(['waiting', 'parked'] as const)('has what a safe start left alone: %s', (state) => {
    const bench = outboxBench()
    bench.message({ state })
    expect(bench.box.sendAgain(2)).toBe(false)
    expect(bench.box.sendAgain(1)).toBe(true)
    expect(bench.texts()).toEqual(['hi'])
  })

  it('has nothing where the database does not take it', () => {
    const bench = outboxBench()
    bench.message()
    bench.world.failing = 'answers that are sent again'
    expect(bench.box.sendAgain(1)).toBe(false)
    expect(bench.frames).toEqual([])
  })
})

describe('the end of a message', () => {
  it('that cannot be written is one all the same, and nothing follows it', () => {
    const bench = outboxBench()
    bench.world.followedBy = () => [bench.message({ text: 'report' })]
    bench.world.failing = 'the end of a message'
    bench.add(['hi'])
    bench.end(tooLate('waited'))
    expect(bench.box.openCount).toBe(0)
    expect(bench.events).toMatchObject([{ kind: 'expired', reason: 'waited' }])
    expect(bench.states()).toEqual(['hi: waiting, 0, undefined'])
    expect(bench.texts()).toEqual(['hi'])
  })

  it('has what follows it sent, also what is said of an answer of which nothing went out', () => {
    const said = outboxBench({}, { onLost: ({ text }) => [lostWord(text)] })
    const lostWord = (text: string) =>
      said.message({ kind: 'refusal', number: undefined, text: `no ${text}` })
    said.world.followedBy = ({ text }) =>
      text === 'hi' ? [said.message({ kind: 'report', text: 'report', to: 'N0CALL-9' })] : []
    said.add(['hi', 'more'])
    said.end(tooLate('waited'))
    expect(said.texts().sort()).toEqual(['hi', 'no hi', 'report'])
  })
})
