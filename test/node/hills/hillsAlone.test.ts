import { describe, expect, it } from 'vitest'
import { hillsBench, talkOver } from './hillsBench.js'
import {
  dayMs,
  hourMs,
  leaveMail,
  letterOptions,
  minuteMs,
  peer,
  putRow,
  trustingNeighbour,
} from './ledgerBench.js'

type Change = Parameters<typeof hillsBench>[0]
const third = 'Q3CCC'
const byBroker = { ...trustingNeighbour, by: ['broker'] } as const

/** A node that runs, and heard its neighbour. */
function running(change: Change = {}) {
  const bench = hillsBench(change)
  bench.start()
  bench.announce()
  return bench
}

describe('what a node announces', () => {
  /** a twentieth of the time between two, and up to a fifth more */
  const first = 0.05 * hourMs
  const soonest = (change: Change = {}) => {
    const bench = hillsBench(change)
    bench.around.random = 0
    return bench
  }

  it('is what it takes of all, and how much waits here, soon after the start and then each time', () => {
    const bench = soonest({
      letters: letterOptions,
      neighbours: [
        { ...trustingNeighbour, takes: ['letter', 'message'] },
        { ...trustingNeighbour, call: third, takes: ['message', 'weather'] },
      ],
    })
    leaveMail(bench)
    bench.start()
    bench.clock.advanceTo(first - 1)
    expect(bench.sent).toEqual([])
    bench.clock.advanceTo(first)
    expect(bench.sent).toEqual([
      {
        ...{ payload: expect.anything(), path: [], radio: 0, priority: 'beacon' },
        ...{ text: 'beacon: node', notAfterMs: first + 120_000, onEnd: expect.any(Function) },
      },
    ])
    expect(Buffer.from(bench.sent[0]!.payload).toString()).toBe('{{H1 Q1OWN mlw 1')
    bench.clock.advanceTo(2 * hourMs)
    expect(bench.sent).toHaveLength(3)
  })

  it('is said a fifth of the time later at the latest', () => {
    const bench = soonest()
    bench.around.random = 1
    bench.start()
    bench.clock.advanceTo(0.25 * hourMs - 1)
    expect(bench.sent).toEqual([])
    bench.clock.advanceTo(0.25 * hourMs)
    expect(bench.sent).toHaveLength(1)
  })

  it('is no letters where none are kept', () => {
    const bench = soonest()
    bench.start()
    bench.clock.advanceTo(first)
    expect(Buffer.from(bench.sent[0]!.payload).toString()).toBe('{{H1 Q1OWN mnswd 0')
  })

  it('counts as time used once it was sent', () => {
    const bench = soonest()
    bench.start()
    bench.clock.advanceTo(first)
    bench.sent[0]!.onEnd!({ kind: 'expired', reason: 'x' } as never)
    expect(bench.hills.state.usedMs).toBe(0)
    bench.sent[0]!.onEnd!({ kind: 'sent', airtimeMs: 700 } as never)
    expect(bench.hills.state.usedMs).toBe(700)
  })

  it('is nothing in the quiet hours, nor once its share of the time is used up', () => {
    const bench = soonest()
    bench.start()
    bench.around.quietUntil = '06:00'
    bench.clock.advanceTo(first)
    expect(bench.sent).toEqual([])
    bench.around.quietUntil = undefined
    bench.clock.advanceTo(hourMs - 1)
    bench.hills.meterFor(peer)!.note(180_000)
    bench.clock.advanceTo(hourMs)
    expect(bench.sent).toEqual([])
    bench.clock.advanceTo(2 * hourMs)
    expect(bench.sent).toHaveLength(1)
  })

  it('is nothing where all are reached by a broker, nor after the end', () => {
    const bench = soonest({ neighbours: [byBroker], withCarrier: true })
    bench.start()
    bench.clock.advanceTo(3 * hourMs)
    expect(bench.sent).toEqual([])
    const neighbours = [byBroker, { ...trustingNeighbour, call: third }]
    const mixed = soonest({ neighbours, withCarrier: true })
    mixed.start()
    mixed.clock.advanceTo(first)
    expect(mixed.sent).toHaveLength(1)
    const stopped = soonest({ withCarrier: true })
    stopped.start()
    stopped.announce()
    stopped.hills.stop()
    expect(stopped.isStopped()).toBe(true)
    expect(stopped.callsUntil(3 * hourMs)).toEqual([])
    expect(stopped.sent).toEqual([])
  })
})

describe('what a node heard', () => {
  it('is which neighbours are there, and since when', () => {
    const bench = hillsBench({
      neighbours: [trustingNeighbour, { ...trustingNeighbour, call: third }],
    })
    bench.start()
    bench.clock.advanceTo(1_000)
    bench.announce()
    bench.announce('Q9ELS')
    bench.announce('Q1OWN')
    bench.hear(`${third}>APZRPT:{{H1 ${third} m 0`, { repairedBits: 1 })
    bench.hear(`${third}>APZRPT:{{H1 ${third} m 0`, { radio: 1 })
    bench.clock.advanceTo(3_000)
    const none = { online: undefined, sessionCount: 0, failureCount: 0 }
    expect(bench.hills.state).toEqual({
      neighbours: [
        { call: peer, heardAgoMs: 2_000, ...none },
        { call: third, heardAgoMs: undefined, ...none },
      ],
      routes: [{ node: peer, next: peer, hops: 1 }],
      ...{ openCount: 0, usedMs: 0 },
    })
  })
})

describe('a call by radio', () => {
  it('is made at the next look, with what there is to tell', () => {
    const bench = running()
    expect(bench.callsUntil(minuteMs - 1)).toEqual([])
    expect(bench.callsUntil(minuteMs)).toEqual([`${peer} by radio 0`])
    const talk = talkOver(bench.calls[0]!.openSession)
    expect(talk.said).toEqual([
      expect.stringMatching(/^hill 1 Q1OWN [a-z2-7]{8} 0 0 [a-z2-7]{16}$/),
    ])
  })

  const never: [string, (bench: ReturnType<typeof hillsBench>) => void][] = [
    ['the channel is busy', ({ port }) => Object.assign(port, { channelBusy: true })],
    ['it keys', ({ port }) => Object.assign(port, { keyed: true })],
    ['it has no such radio', ({ around }) => Object.assign(around, { hasPort: false })],
    ['others wait for their turn', ({ around }) => Object.assign(around, { isBusy: true })],
    ['the radio is held', ({ around }) => Object.assign(around, { blockedBy: 'operator' })],
    ['the hours are quiet', ({ around }) => Object.assign(around, { quietUntil: '06:00' })],
    ['the time is used up', ({ hills }) => hills.meterFor(peer)!.note(129_000 - 11)],
  ]
  it.each(never)('is not made while %s', (_, prevent) => {
    const bench = running()
    prevent(bench)
    expect(bench.callsUntil(5 * minuteMs)).toEqual([])
  })

  it('is made while there is room for an octet in its share of the time', () => {
    const bench = running()
    bench.hills.meterFor(peer)!.note(129_000 - 12)
    expect(bench.callsUntil(minuteMs)).toHaveLength(1)
  })

  it('is made to a neighbour that was heard within a day', () => {
    const bench = running()
    bench.around.isBusy = true
    bench.clock.advanceTo(dayMs)
    bench.around.isBusy = false
    bench.clock.advanceTo(dayMs + minuteMs)
    expect(bench.calls).toEqual([])
    const other = running()
    other.around.isBusy = true
    other.clock.advanceTo(dayMs - 1)
    other.around.isBusy = false
    expect(other.callsUntil(dayMs)).toHaveLength(1)
    expect(hillsBench().callsUntil(hourMs)).toEqual([])
  })

  it('waits until the channel was quiet for so long, whoever was heard', () => {
    const bench = running()
    bench.clock.advanceTo(minuteMs - 999)
    bench.hear('Q9ELS>APZRPT:>hello')
    expect(bench.callsUntil(minuteMs)).toEqual([])
    bench.clock.advanceTo(2 * minuteMs - 1_000)
    bench.hear('Q9ELS>APZRPT:>hello', { radio: 1 })
    bench.hear('Q9ELS>APZRPT:>hello', { repairedBits: 2 })
    expect(bench.callsUntil(2 * minuteMs)).toHaveLength(1)
  })

  it('is not made where there is nothing for it', () => {
    const bench = running({ neighbours: [{ ...trustingNeighbour, gives: ['message'] }] })
    expect(bench.callsUntil(hourMs)).toEqual([])
    putRow(bench, { kind: 'report', peer })
    expect(bench.callsUntil(hourMs + minuteMs)).toHaveLength(1)
  })

  it('is made to one at a time', () => {
    const bench = running({
      neighbours: [trustingNeighbour, { ...trustingNeighbour, call: third }],
    })
    bench.announce(third)
    expect(bench.callsUntil(3 * minuteMs)).toEqual([`${peer} by radio 0`])
    talkOver(bench.calls[0]!.openSession).complete()
    expect(bench.callsUntil(4 * minuteMs)).toEqual([`${third} by radio 0`])
  })

  it('that cannot be made is tried again at the next look', () => {
    const bench = running()
    bench.around.takesCall = false
    expect(bench.callsUntil(2 * minuteMs)).toHaveLength(2)
    bench.around.takesCall = true
    expect(bench.callsUntil(4 * minuteMs)).toHaveLength(1)
  })

  it('is not made to who has called', () => {
    const bench = running()
    const talk = talkOver(bench.hills.sessionFor(peer)!)
    expect(bench.callsUntil(5 * minuteMs)).toEqual([])
    talk.session.ended()
    expect(bench.callsUntil(3 * hourMs)).toHaveLength(1)
  })
})

describe('after a session', () => {
  it('that is complete the next comes no sooner than each so many minutes', () => {
    const bench = running({ options: { everyMs: 10 * minuteMs } })
    bench.clock.advanceTo(minuteMs)
    const talk = talkOver(bench.calls[0]!.openSession)
    talk.complete()
    expect(talk.isClosed()).toBe(true)
    expect(bench.hills.state.neighbours).toMatchObject([{ sessionCount: 1, failureCount: 0 }])
    expect(bench.notes).toEqual([])
    expect(bench.hills.state.routes).toEqual([{ node: peer, next: peer, hops: 1 }])
    putRow(bench, { kind: 'report', peer })
    expect(bench.callsUntil(11 * minuteMs - 1)).toEqual([])
    expect(bench.callsUntil(11 * minuteMs)).toHaveLength(1)
  })

  it('that failed the pause doubles, up to four hours, and is over with the next complete one', () => {
    const bench = running({ options: { everyMs: 5 * minuteMs } })
    let at = 0
    const pauses: number[] = []
    for (let time = 0; time < 9; time++) {
      const before = bench.calls.length
      const since = at
      while (bench.calls.length === before) {
        at += minuteMs
        bench.announce()
        bench.clock.advanceTo(at)
      }
      pauses.push((at - since) / minuteMs)
      bench.calls.at(-1)!.onEnded()
    }
    expect(pauses).toEqual([1, 10, 20, 40, 80, 160, 240, 240, 240])
    expect(bench.hills.state.neighbours).toMatchObject([{ sessionCount: 0, failureCount: 9 }])
    expect(bench.notes[0]).toEqual({
      ...{ kind: 'given up', text: `entries with ${peer}`, station: peer },
      reason: 'no answer, by radio',
    })
    bench.clock.advanceTo(at + 240 * minuteMs)
    talkOver(bench.calls.at(-1)!.openSession).complete()
    putRow(bench, { kind: 'report', peer })
    bench.announce()
    expect(bench.callsUntil(at + 244 * minuteMs)).toEqual([])
    expect(bench.callsUntil(at + 245 * minuteMs)).toHaveLength(1)
  })

  it.each([
    [0, 8],
    [1, 12],
  ])('the pause differs by a fifth either way: %d', (random, minutes) => {
    const bench = running({ options: { everyMs: 5 * minuteMs } })
    bench.clock.advanceTo(minuteMs)
    bench.around.random = random
    bench.calls[0]!.onEnded()
    expect(bench.callsUntil((1 + minutes) * minuteMs - 1)).toEqual([])
    expect(bench.callsUntil((2 + minutes) * minuteMs)).toHaveLength(1)
  })

  it('the pause is sixty-four times as long, and no more, however often it failed', () => {
    const bench = running({ options: { everyMs: minuteMs } })
    let at = 0
    for (let time = 0; time < 8; time++) {
      const before = bench.calls.length
      while (bench.calls.length === before) {
        at += minuteMs
        bench.announce()
        bench.clock.advanceTo(at)
      }
      bench.calls.at(-1)!.onEnded()
    }
    bench.clock.advanceTo(at + 30_000)
    bench.announce()
    expect(bench.callsUntil(at + 63 * minuteMs)).toEqual([])
    expect(bench.callsUntil(at + 64 * minuteMs)).toHaveLength(1)
  })

  it('that broke it is told why', () => {
    const bench = running()
    bench.clock.advanceTo(minuteMs)
    const talk = talkOver(bench.calls[0]!.openSession)
    talk.say('help')
    expect(talk.said.at(-1)).toBe('stop line')
    bench.calls[0]!.onEnded()
    expect(bench.notes).toMatchObject([{ reason: 'stopped: line, by radio' }])
    expect(bench.hills.state.neighbours).toMatchObject([{ failureCount: 1 }])
  })
})

describe('a session with a node that calls', () => {
  it('is for a neighbour that is reached that way, and for nobody else', () => {
    const neighbours = [trustingNeighbour, { ...byBroker, call: third }]
    const bench = hillsBench({ neighbours, withCarrier: true })
    bench.start()
    expect(bench.hills.sessionFor(peer)).toBeDefined()
    expect(bench.hills.sessionFor(third)).toBeUndefined()
    expect(bench.hills.sessionFor('Q9ELS')).toBeUndefined()
    expect(bench.called().sessionFor(peer)).toBeUndefined()
    expect(bench.called().sessionFor(third)).toBeDefined()
    expect(bench.hills.meterFor(third)).toBeUndefined()
    expect(bench.hills.meterFor('Q9ELS')).toBeUndefined()
  })

  it('ends the one that there was with it', () => {
    const bench = running()
    const one = talkOver(bench.hills.sessionFor(peer)!)
    const two = talkOver(bench.hills.sessionFor(peer)!)
    expect([one.isClosed(), two.isClosed()]).toEqual([true, false])
    expect(bench.notes).toMatchObject([{ reason: 'the connection ended, by radio' }])
    expect(bench.callsUntil(5 * hourMs)).toEqual([])
    two.complete()
    expect(two.isClosed()).toBe(true)
    const nonces = [one, two].map(({ said }) => said[0]!.split(' ').at(-1))
    expect(nonces[0]).not.toBe(nonces[1])
  })

  it('takes entries, and hands over as many as there is room for', () => {
    const bench = running()
    bench.clock.advanceTo(minuteMs)
    for (let at = 0; at < 3; at++)
      putRow(bench, {
        ...{ entryId: `Q0FAR.AAAAAAAAA${'ABC'[at]}`, kind: 'notice', to: '*' },
        text: 'x'.repeat(200),
      })
    const offered = (usedMs: number): number => {
      bench.hills.meterFor(peer)!.note(usedMs)
      const talk = talkOver(bench.hills.sessionFor(peer)!)
      talk.say(`hill 1 ${peer} bbbbbbbb 0 0 ${'b'.repeat(16)}`)
      talk.say(talk.said.find((line) => line.startsWith('session '))!)
      return talk.said.filter((line) => line.startsWith('offer ')).length
    }
    expect(offered(0)).toBe(4)
    // 180 s in an hour, of which 45 are kept back, and 6 for the session itself: 720 octets are left
    expect(offered(129_000 - 720 * 12)).toBe(2)
    expect(offered(720 * 12)).toBe(0)
  })

  it('is within its share of the time', () => {
    const bench = running()
    const meter = bench.hills.meterFor(peer)!
    meter.note(179_999)
    expect(meter.maySend()).toBe(true)
    meter.note(1)
    expect(meter.maySend()).toBe(false)
    expect(bench.hills.state.usedMs).toBe(180_000)
  })
})
