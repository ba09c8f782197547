import { describe, expect, it } from 'vitest'
import { minuteMs, outboxBench, refused, sent, tooLate } from './outboxBench.js'

describe('a frame that does not go out', () => {
  const timesOf = (bench: ReturnType<typeof outboxBench>, untilMs: number): number[] => {
    const atMs: number[] = []
    for (let ms = 0; ms <= untilMs; ms += 500) {
      bench.clock.advanceTo(ms)
      while (atMs.length < bench.frames.length) atMs.push(ms)
    }
    return atMs
  }

  it('because its radio refused it is given again, later each time, and no try of it', () => {
    const bench = outboxBench()
    bench.world.endsAtOnce = refused('its queue is full')
    bench.add(['hi'])
    expect(timesOf(bench, 80_000)).toEqual([0, 5_000, 15_000, 35_000, 75_000])
    expect(bench.frames[4]).toMatchObject({ priority: 'answer' })
    bench.world.endsAtOnce = sent
    bench.clock.advanceBy(80_000)
    expect(bench.states()).toEqual(['hi: waiting, 1, undefined'])
    // soon again after something of it went out
    bench.world.endsAtOnce = refused('its queue is full')
    bench.clock.advanceTo(163_000)
    const { length } = bench.frames
    bench.clock.advanceBy(4_999)
    expect(bench.frames.length).toBe(length)
    bench.clock.advanceBy(1)
    expect(bench.frames.length).toBe(length + 1)
    expect(bench.frames.at(-1)).toMatchObject({ priority: 'repeat' })
    expect(bench.events).toEqual([])
  })

  it('leaves its station to the others meanwhile', () => {
    const bench = outboxBench()
    bench.add(['one'])
    bench.add(['other'], { kind: 'prompt', questionId: undefined })
    bench.frames[0]!.end(refused('x'))
    expect(bench.texts()).toEqual(['one', 'other'])
  })

  it('because it was cut is tried as often as any other, then given up with that reason', () => {
    const bench = outboxBench()
    bench.world.endsAtOnce = refused('cut by the guard', { airtimeMs: 300 })
    bench.add(['hi', 'more'])
    expect(timesOf(bench, 60_000)).toEqual([0, 5_000, 15_000])
    expect(bench.states()).toEqual([
      'hi: given up, 0, cut by the guard',
      'more: given up, 0, cut by the guard',
    ])
    expect(bench.lost).toEqual(['hi'])
  })

  it.each([
    ['the operator dropped it', refused('dropped', { isFinal: true }), 'given up', 'dropped'],
    ['its radio may not send', refused('transmit off'), 'given up', 'transmit off'],
    ['it was too late', tooLate('waited too long'), 'expired', 'waited too long'],
  ])('because %s ends, with all of its answer', (_, outcome, state, reason) => {
    const bench = outboxBench()
    bench.world.blockedBy = 'transmit off'
    bench.add(['one', 'two'])
    bench.end(outcome)
    const end = { kind: state, radio: 0, station: 'N0CALL-7', reason }
    expect(bench.events).toEqual([
      { ...end, text: 'one', reference: 'M1' },
      { ...end, text: 'two', reference: 'M2' },
    ])
    expect(bench.states()).toEqual([`one: ${state}, 0, ${reason}`, `two: ${state}, 0, ${reason}`])
    expect(bench.lost).toEqual(['one'])
    expect(bench.counts.endings).toEqual([{ what: state, reason, count: 2 }])
    expect(bench.frames[0]?.takenBack).toBeUndefined()
  })

  it('is given once, also where the one before it ended at once', () => {
    const bench = outboxBench({ window: 2 })
    const mail = { kind: 'mailbox', questionId: undefined } as const
    bench.world.endsAtOnce = tooLate('waited')
    bench.add(['one', 'two'], mail)
    expect(bench.texts()).toEqual(['one', 'two'])
    bench.world.followedBy = () => {
      bench.world.endsAtOnce = undefined
      return []
    }
    bench.add(['three', 'four'], mail)
    expect(bench.texts()).toEqual(['three', 'four'])
    bench.end()
    expect(bench.states().at(-1)).toBe('four: waiting, 1, undefined')
  })

  it('is not taken back any more', () => {
    const bench = outboxBench()
    bench.world.endsAtOnce = refused('its queue is full')
    bench.add(['one'])
    bench.box.endAll('N0CALL-7', 'x')
    expect(bench.frames[0]?.takenBack).toBeUndefined()
  })

  it('of an answer that has begun ends alone, and is not lost', () => {
    const bench = outboxBench()
    bench.add(['one', 'two', 'three'])
    bench.end()
    bench.box.acknowledged('N0CALL-7', '11', 'x')
    bench.end(tooLate('waited'))
    expect(bench.texts()).toEqual(['one', 'two', 'three'])
    expect(bench.lost).toEqual([])
  })

  it('is told to nobody once the outbox is stopped', () => {
    const bench = outboxBench()
    bench.add(['one'])
    bench.box.stop()
    bench.end()
    bench.add(['two'], { to: 'N0CALL-8' })
    bench.clock.advanceBy(minuteMs)
    expect(bench.states()).toEqual(['one: waiting, 0, undefined', 'two: waiting, 0, undefined'])
    expect(bench.texts()).toEqual(['one'])
  })

  it('nor is anything given up after that', () => {
    const bench = outboxBench({ gapsMs: [] })
    bench.add(['one'])
    bench.end()
    bench.box.stop()
    bench.clock.advanceBy(minuteMs)
    expect(bench.states()).toEqual(['one: waiting, 1, undefined'])
  })
})
