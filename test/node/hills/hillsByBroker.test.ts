import { describe, expect, it } from 'vitest'
import { hillsBench, talkOver } from './hillsBench.js'
import { entryOf, hourMs, minuteMs, peer, putRow, trustingNeighbour } from './ledgerBench.js'

const third = 'Q3CCC'
const byBroker = { ...trustingNeighbour, by: ['broker'] } as const
const byBoth = { ...trustingNeighbour, by: ['radio', 'broker'] } as const

function running(
  neighbours: NonNullable<Parameters<typeof hillsBench>[0]>['neighbours'] = [byBoth],
) {
  const bench = hillsBench({ neighbours, withCarrier: true })
  bench.start()
  return bench
}

describe('a call by the broker', () => {
  it('is made to each that it reaches, whatever is on the air', () => {
    const bench = running([
      byBroker,
      { ...byBoth, call: third },
      { ...trustingNeighbour, call: 'Q4DDD' },
    ])
    for (const call of [peer, third, 'Q4DDD']) bench.online.add(call)
    Object.assign(bench.port, { channelBusy: true })
    expect(bench.callsUntil(minuteMs)).toEqual([`${peer} by broker`, `${third} by broker`])
    expect(bench.callsUntil(5 * minuteMs)).toEqual([])
    expect(bench.hills.state.neighbours.map(({ online }) => online)).toEqual([
      true,
      true,
      undefined,
    ])
    expect(bench.hills.state.routes.map(({ node }) => node)).toEqual([peer, third])
  })

  it('is none where it is not reached: by radio where that is a way, too', () => {
    const bench = running([byBroker, { ...byBoth, call: third }])
    bench.announce()
    bench.announce(third)
    expect(bench.hills.state.neighbours.map(({ online }) => online)).toEqual([false, false])
    expect(bench.callsUntil(3 * minuteMs)).toEqual([`${third} by radio 0`])
  })

  it('does not keep one by radio from being made', () => {
    const bench = running([byBroker, { ...trustingNeighbour, call: third }])
    bench.online.add(peer)
    bench.announce(third)
    expect(bench.callsUntil(minuteMs)).toEqual([`${peer} by broker`, `${third} by radio 0`])
  })

  it('is not made while there is a session with it, nor before its time, nor for nothing', () => {
    const bench = running()
    bench.online.add(peer)
    const talk = talkOver(bench.called().sessionFor(peer)!)
    expect(bench.callsUntil(3 * minuteMs)).toEqual([])
    talk.complete()
    expect(bench.callsUntil(13 * minuteMs)).toEqual([])
    putRow(bench, { kind: 'report', peer })
    expect(bench.callsUntil(14 * minuteMs)).toEqual([`${peer} by broker`])
  })

  it('comes no sooner than the broker is meant for, and failures double that', () => {
    const bench = running()
    bench.online.add(peer)
    bench.clock.advanceTo(minuteMs)
    bench.calls[0]!.onEnded()
    expect(bench.notes).toMatchObject([{ kind: 'given up', reason: 'no answer, by broker' }])
    expect(bench.callsUntil(21 * minuteMs - 1)).toEqual([])
    expect(bench.callsUntil(21 * minuteMs)).toHaveLength(1)
  })

  it('is made at once to who is there again', () => {
    const bench = running()
    bench.online.add(peer)
    bench.clock.advanceTo(minuteMs)
    bench.calls[0]!.onEnded()
    bench.called().reached('Q9ELS')
    expect(bench.callsUntil(2 * minuteMs)).toEqual([])
    bench.called().reached(peer)
    expect(bench.callsUntil(3 * minuteMs)).toHaveLength(1)
    bench.calls.at(-1)!.onEnded()
    // The failure before is forgotten: it waits as after the first.
    expect(bench.callsUntil(23 * minuteMs - 1)).toEqual([])
    expect(bench.callsUntil(23 * minuteMs)).toHaveLength(1)
  })

  it('that is not taken is tried again', () => {
    const bench = running()
    bench.online.add(peer)
    bench.around.takesCall = false
    expect(bench.callsUntil(2 * minuteMs)).toHaveLength(2)
  })

  it('that is over does not end one by radio that goes on', () => {
    const bench = running()
    bench.announce()
    bench.clock.advanceTo(minuteMs)
    const byRadio = bench.calls[0]!
    talkOver(bench.called().sessionFor(peer)!).complete()
    bench.online.add(peer)
    putRow(bench, { kind: 'report', peer })
    // Its call by radio is still under way: no other is made.
    expect(bench.callsUntil(hourMs)).toEqual([])
    byRadio.onEnded()
    expect(bench.callsUntil(6 * hourMs)[0]).toBe(`${peer} by broker`)
  })
})

describe('a session over the broker', () => {
  it('has room for as much as goes into one turn there', () => {
    const bench = running()
    bench.clock.advanceTo(minuteMs)
    for (const letter of ['A', 'B', 'C'])
      putRow(bench, {
        ...{ entryId: `Q0FAR.AAAAAAAAA${letter}`, kind: 'stations', to: '*', from: 'Q0FAR' },
        text: 'x'.repeat(12_000),
      })
    const talk = talkOver(bench.called().sessionFor(peer)!)
    talk.say(`hill 1 ${peer} bbbbbbbb 0 0 ${'b'.repeat(16)}`, 'session 1')
    expect(talk.said.filter((line) => line.startsWith('offer '))).toHaveLength(3)
  })

  it('does not change how often a neighbour is called by radio', () => {
    const bench = running()
    bench.announce()
    bench.clock.advanceTo(minuteMs)
    talkOver(bench.calls[0]!.openSession).complete()
    putRow(bench, { kind: 'report', peer })
    expect(bench.callsUntil(hourMs + minuteMs - 1)).toEqual([])
    expect(bench.callsUntil(hourMs + minuteMs)).toEqual([`${peer} by radio 0`])
  })

  it('says in the log what went over it, where something did', () => {
    const bench = running()
    talkOver(bench.called().sessionFor(peer)!).complete()
    expect(bench.notes).toEqual([])
    expect(bench.hills.state.routes).toEqual([{ node: peer, next: peer, hops: 1 }])
    const talk = talkOver(bench.called().sessionFor(peer)!)
    const { id } = entryOf()
    talk.say(`hill 1 ${peer} bbbbbbbb 1 1 ${'b'.repeat(16)}`, 'session 2')
    talk.say(`offer ${id} stations 7 *`, 'asked')
    talk.say(`entry ${id} stations ${peer} * 0 60 ${peer}`, 't Q7LAP 3', '.', 'given', 'end')
    expect(bench.notes).toEqual([
      {
        ...{ kind: 'disconnected', station: peer },
        text: 'entries by the broker: 0 given, 1 taken',
      },
    ])
    expect(bench.hills.state.neighbours).toMatchObject([{ sessionCount: 2, failureCount: 0 }])
  })
})
