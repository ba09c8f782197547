import { describe, expect, it } from 'vitest'
import { minuteMs, outboxBench, sent } from './outboxBench.js'
import { trustedClock } from './trustedClock.js'

const standing = { station: 'N0CALL-7', radio: 0, reference: 'M1' }

describe('what is given to the transmitter', () => {
  it('is the first part of an answer, with what follows it and how long it is of use', () => {
    const bench = outboxBench()
    bench.add(['one', 'three'], { replyTo: '05', radio: 2 }, 3)
    expect(bench.frames).toEqual([
      {
        ...{ payload: ':N0CALL-7 :one{11}05', path: ['BY-7'], radio: 2, station: 'N0CALL-7' },
        // addresses, control, PID, addressee and number take 34 octets
        ...{ text: 'one', priority: 'answer', turn: 3, followingOctets: 34 + 5 },
        ...{ notAfterMs: 20 * minuteMs, reference: 'M1', takenBack: undefined },
        end: expect.any(Function),
      },
    ])
  })

  it('is a repeat of what has begun, before all who asked lately', () => {
    const bench = outboxBench({ gapsMs: [8_000] })
    bench.add(['one'], {}, 3)
    bench.end()
    bench.clock.advanceBy(8_000)
    expect(bench.frames[1]).toMatchObject({ priority: 'repeat', turn: -1, followingOctets: 0 })
  })

  it.each([
    ['answer', 'answer'],
    ['error', 'answer'],
    ['refusal', 'answer'],
    ['reply', 'answer'],
    ['emergency', 'emergency'],
    ['mailbox', 'mailbox'],
    ['report', 'mailbox'],
    ['prompt', 'mailbox'],
  ] as const)('is of the kind %s with the priority %s', (kind, priority) => {
    const bench = outboxBench()
    bench.add(['x'], { kind })
    expect(bench.frames.map((frame) => frame.priority)).toEqual([priority])
  })

  it('counts among what follows only the parts that have not gone out', () => {
    const bench = outboxBench({ window: 2 })
    bench.add(['one', 'three', 'fifteen'])
    bench.end()
    bench.end()
    expect(bench.texts()).toEqual(['one', 'three'])
    bench.box.acknowledged('N0CALL-7', '11', 'x')
    expect(bench.frames.map(({ followingOctets }) => followingOctets)).toEqual([
      34 + 5 + 34 + 7,
      34 + 7,
      0,
    ])
  })

  it('counts nothing of what follows a repeat once all has gone out', () => {
    const bench = outboxBench({ window: 2 })
    bench.world.endsAtOnce = sent
    bench.add(['one', 'two'])
    bench.clock.advanceBy(8_000)
    expect(bench.frames[2]).toMatchObject({ text: 'one', followingOctets: 0 })
  })

  it('is the next part without an acknowledgement where others wait for its radio', () => {
    const bench = outboxBench()
    bench.world.busy = [1]
    bench.add(['one', 'two'], { radio: 1 })
    bench.add(['mail'], { kind: 'mailbox', questionId: undefined })
    bench.frames[0]!.end(sent)
    expect(bench.texts()).toEqual(['one', 'mail', 'two'])
  })

  it('is nothing because its station is heard, which waits for its acknowledgement', () => {
    const bench = outboxBench()
    bench.add(['one'])
    bench.end()
    bench.box.stationHeard('N0CALL-7')
    bench.clock.advanceBy(7_999)
    expect(bench.texts()).toEqual(['one'])
  })

  it.each([
    ['error', 2],
    ['emergency', 3],
    ['answer', 5],
  ] as const)('is of the kind %s at most so often: %d', (kind, count) => {
    const bench = outboxBench({ gapsMs: [1_000, 1_000, 1_000, 1_000] })
    bench.world.endsAtOnce = sent
    bench.add(['x'], { kind })
    bench.clock.advanceBy(minuteMs)
    expect(bench.frames).toHaveLength(count)
  })

  it('is nothing at the moment from which it is of no use any more', () => {
    const repeatedAt = (lifeMs: number) => {
      const bench = outboxBench()
      bench.add(['hi'], { notAfterWallMs: bench.clock.wallMs() + lifeMs })
      bench.end()
      bench.clock.advanceBy(8_000)
      return [bench.frames.length, bench.states()[0]]
    }
    expect(repeatedAt(8_001)).toEqual([2, 'hi: waiting, 1, undefined'])
    expect(repeatedAt(8_000)).toEqual([1, 'hi: expired, 1, too late to be of use'])
  })

  it('is not a text that no message can carry: that ends, with all of its answer', () => {
    const bench = outboxBench()
    bench.add(['a|b', 'c'])
    const reason = "message text: the character '|' is not allowed"
    expect(bench.frames).toEqual([])
    expect(bench.states()).toEqual([`a|b: given up, 0, ${reason}`, `c: given up, 0, ${reason}`])
    expect(bench.lost).toEqual(['a|b'])
  })

  it('is in time by the monotonic clock alone while the other is not trusted', () => {
    const left = (trusted: boolean) => {
      const bench = outboxBench({}, { clockTrust: { ...trustedClock, trusted: () => trusted } })
      const wallMs = bench.clock.wallMs()
      bench.add(['hi'], { createdWallMs: wallMs - 5000, notAfterWallMs: wallMs + 5000 })
      return bench.frames[0]?.notAfterMs
    }
    expect([left(true), left(false)]).toEqual([5_000, 10_000])
  })

  it('goes to each station by itself', () => {
    const bench = outboxBench()
    const toOther = bench.message({ to: 'N0CALL-8', text: 'other', questionId: 2 })
    bench.box.add([bench.message({ text: 'first' }), toOther])
    expect(bench.texts()).toEqual(['first', 'other'])
  })
})

describe('an acknowledgement', () => {
  it('ends its message: it is told and kept with how it came, and what waits goes out', () => {
    const bench = outboxBench()
    bench.add(['one', 'two'])
    bench.end()
    expect(bench.texts()).toEqual(['one'])
    expect(bench.box.acknowledged('N0CALL-7', '11', 'by a message in return')).toBe(true)
    const reason = 'by a message in return'
    expect(bench.events).toEqual([{ kind: 'acknowledged', text: 'one', ...standing, reason }])
    expect(bench.ends).toEqual([`one: acknowledged, ${reason}`])
    expect(bench.states()).toEqual([
      `one: acknowledged, 1, ${reason}`,
      'two: waiting, 0, undefined',
    ])
    expect(bench.texts()).toEqual(['two'])
    expect(bench.box.openCount).toBe(1)
    // nor is the first repeated
    bench.end()
    bench.clock.advanceBy(8_000)
    expect(bench.texts()).toEqual(['two'])
    expect(bench.counts.endings).toEqual([])
  })

  it('of what is with the transmitter takes it back', () => {
    const bench = outboxBench()
    bench.add(['hi'])
    expect(bench.box.acknowledged('N0CALL-7', '11', 'x')).toBe(true)
    expect(bench.frames[0]?.takenBack).toBe('its message has ended: acknowledged')
    bench.end()
    expect(bench.states()).toEqual(['hi: acknowledged, 0, x'])
  })

  it.each(['acknowledged', 'rejected'] as const)(
    '%s: means nothing that has not gone out',
    (how) => {
      const bench = outboxBench()
      bench.add(['one', 'two'])
      bench.end()
      expect(bench.box[how]('N0CALL-7', '12', 'x')).toBe(false)
      expect(bench.box[how]('N0CALL-8', '11', 'x')).toBe(false)
      expect(bench.box[how]('N0CALL-7', '13', 'x')).toBe(false)
      expect(bench.box.openCount).toBe(2)
      expect(bench.events).toEqual([])
    },
  )

  it('of what was sent in a former run ends that', () => {
    const bench = outboxBench()
    const message = bench.message()
    bench.store.messages.noteAttempt(message.id)
    bench.box.add([{ ...message, attempts: 1 }])
    expect(bench.frames[0]).toMatchObject({ priority: 'repeat', turn: -1 })
    expect(bench.box.acknowledged('N0CALL-7', '11', 'x')).toBe(true)
  })

  it('that rejects ends its message, and goes on with the next', () => {
    const bench = outboxBench()
    bench.add(['one', 'two'])
    bench.end()
    expect(bench.box.rejected('N0CALL-7', '11')).toBe(true)
    const reason = 'by its receiver'
    expect(bench.events).toEqual([{ kind: 'rejected', text: 'one', ...standing, reason }])
    expect(bench.texts()).toEqual(['one', 'two'])
    expect(bench.counts.endings).toEqual([])
  })
})

describe('an acknowledgement of what has ended', () => {
  const afterEnd = (state: 'given up' | 'expired' | 'acknowledged', attempts = 1) => {
    const bench = outboxBench()
    const { id } = bench.message()
    for (let count = 0; count < attempts; count++) bench.store.messages.noteAttempt(id)
    bench.store.durably('test', () => bench.store.messages.end(id, state, 1, 'why'))
    return bench
  }

  it.each([
    ['acknowledged', 'given up'],
    ['acknowledged', 'expired'],
    ['rejected', 'given up'],
    ['rejected', 'expired'],
  ] as const)('%s: counts when it was %s, and has sent what follows', (how, state) => {
    const bench = afterEnd(state)
    bench.world.followedBy = () => [
      bench.message({ to: 'N0CALL-9', text: 'report', kind: 'report' }),
    ]
    expect(bench.box[how]('N0CALL-7', '11', 'x')).toBe(true)
    const reason = `late: it was ${state}`
    expect(bench.events).toEqual([{ kind: how, text: 'hi', ...standing, reason }])
    expect(bench.ends).toEqual([`hi: ${how}, ${reason}`])
    expect(bench.states()[0]).toBe(`hi: ${how}, 1, ${reason}`)
    expect(bench.texts()).toEqual(['report'])
  })

  it('changes nothing where it was acknowledged before', () => {
    const bench = afterEnd('acknowledged')
    expect(bench.box.rejected('N0CALL-7', '11')).toBe(true)
    expect([bench.events, bench.ends]).toEqual([[], []])
  })

  it('is of a former message with its number where it never went out', () => {
    const bench = afterEnd('expired', 0)
    expect(bench.box.acknowledged('N0CALL-7', '11', 'x')).toBe(false)
    expect([bench.events, bench.ends]).toEqual([[], []])
  })

  it('is told all the same where the database does not take it', () => {
    const bench = afterEnd('given up')
    bench.world.followedBy = () => [bench.message({ text: 'report' })]
    bench.world.failing = 'a late acknowledgement'
    expect(bench.box.acknowledged('N0CALL-7', '11', 'x')).toBe(true)
    expect(bench.events).toHaveLength(1)
    expect(bench.states()).toEqual(['hi: given up, 1, why'])
    expect(bench.frames).toEqual([])
  })

  it('is unknown where the database cannot be read', () => {
    const bench = afterEnd('given up')
    bench.world.failing = 'a message'
    expect(bench.box.acknowledged('N0CALL-7', '11', 'x')).toBe(false)
  })
})

describe('what is not acknowledged', () => {
  it.each([
    [[8_000, 16_000], [0, 8_000, 24_000], 40_000, 'not acknowledged after 3 transmissions'],
    [[], [0], 30_000, 'not acknowledged after 1 transmission'],
  ])('is repeated after %j ms, then given up', (gapsMs, sentMs, endMs, reason) => {
    const bench = outboxBench({ gapsMs })
    const atMs: number[] = []
    bench.world.endsAtOnce = sent
    bench.add(['hi'])
    for (let ms = 0; ms <= 60_000; ms += 500) {
      bench.clock.advanceTo(ms)
      while (atMs.length < bench.frames.length) atMs.push(ms)
      if (ms === endMs - 500) expect(bench.box.openCount).toBe(1)
      if (ms === endMs) expect(bench.box.openCount).toBe(0)
    }
    expect(atMs).toEqual(sentMs)
    expect(bench.events).toEqual([{ kind: 'given up', text: 'hi', ...standing, reason }])
    expect(bench.counts.endings).toEqual([
      { what: 'given up', reason: reason.replace(/\d/, 'N'), count: 1 },
    ])
  })

  it('takes the other parts of its answer with it, whose receiver is taken to be deaf', () => {
    const bench = outboxBench({ gapsMs: [], window: 2 })
    bench.world.endsAtOnce = sent
    bench.add(['one', 'two', 'three'])
    bench.clock.advanceBy(30_000)
    expect(bench.states()).toEqual([
      'one: given up, 1, not acknowledged after 1 transmission',
      'two: given up, 1, its receiver does not acknowledge',
      'three: given up, 0, its receiver does not acknowledge',
    ])
  })

  it('leaves them where one of them was acknowledged', () => {
    const bench = outboxBench({ gapsMs: [], window: 3 })
    bench.world.endsAtOnce = sent
    bench.add(['one', 'two', 'three'])
    bench.clock.advanceBy(10_000)
    bench.box.acknowledged('N0CALL-7', '12', 'x')
    bench.clock.advanceBy(20_000)
    expect(bench.states().slice(1)).toEqual([
      'two: acknowledged, 1, x',
      'three: given up, 1, not acknowledged after 1 transmission',
    ])
  })

  it('has other mail to its station wait for a better moment, and no other', () => {
    const bench = outboxBench({ gapsMs: [] })
    const mail = { kind: 'mailbox', questionId: undefined } as const
    bench.add(['one', 'two'], mail)
    bench.box.add([bench.message({ text: 'told', kind: 'report', questionId: undefined })])
    bench.box.add([bench.message({ ...mail, text: 'elsewhere', to: 'N0CALL-8' })])
    bench.frames[0]!.end(sent)
    bench.clock.advanceBy(30_000)
    expect(bench.states()).toEqual([
      'one: given up, 1, not acknowledged after 1 transmission',
      'two: given up, 0, its receiver does not acknowledge',
      'told: waiting, 0, undefined',
      'elsewhere: waiting, 0, undefined',
    ])
    expect(bench.texts()).toEqual(['one', 'elsewhere', 'told'])
  })

  it('without a number is sent once, which is its end and no event', () => {
    const bench = outboxBench()
    bench.add(['one', 'two'], { number: undefined })
    bench.end()
    bench.end()
    expect(bench.states()).toEqual(['one: sent, 1, undefined', 'two: sent, 1, undefined'])
    expect([bench.events, bench.counts.endings]).toEqual([[], []])
    expect(bench.box.openCount).toBe(0)
  })

  it('is finished within six minutes of its last part, though its time is over', () => {
    const bench = outboxBench({ window: 1 })
    bench.add(['one', 'two'], { notAfterWallMs: bench.clock.wallMs() + 2 * minuteMs })
    bench.clock.advanceBy(minuteMs)
    bench.end()
    bench.clock.advanceBy(7_999)
    bench.box.acknowledged('N0CALL-7', '11', 'x')
    expect(bench.frames.map(({ notAfterMs }) => notAfterMs)).toEqual([2 * minuteMs, 7 * minuteMs])
    // what has longer keeps it
    const long = outboxBench()
    long.add(['one', 'two'])
    long.end()
    long.box.acknowledged('N0CALL-7', '11', 'x')
    expect(long.frames[1]?.notAfterMs).toBe(20 * minuteMs)
    // a repeat has no more than it had
    const again = outboxBench()
    again.add(['one'], { notAfterWallMs: again.clock.wallMs() + 2 * minuteMs })
    again.end()
    again.clock.advanceBy(8_000)
    expect(again.frames[1]?.notAfterMs).toBe(2 * minuteMs)
  })
})
