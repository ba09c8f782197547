import { describe, expect, it } from 'vitest'
import { admission, type Promised } from '../../src/node/admission.js'
import type { RadioAirtime } from '../../src/node/transmitter.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

const lifeMs = 100_000

/**
 * A radio on which a transmission takes 600 ms, each frame 40 and each octet 10: an answer of 105 octets among others is
 * taken for 1,190 ms, an acknowledgement for 680.
 */
function bench(given: { sendableMs?: number; paceShare?: number; aheadMs?: number } = {}) {
  const clock = virtualClock()
  const world = { sendableMs: Number.POSITIVE_INFINITY, paceShare: 1, aheadMs: 0, ...given }
  const promised: Promised[] = []
  const asked: unknown[] = []
  const box = admission({
    clock,
    notAfterMs: lifeMs,
    promised: () => promised,
    transmitter: {
      airtime: (radio): RadioAirtime | undefined =>
        radio === 9
          ? undefined
          : {
              ...{ paceShare: world.paceShare, aheadMs: world.aheadMs },
              keyedMs: (frames) => frames.reduce((sum, { length }) => sum + 40 + 10 * length, 600),
              forecast(...all) {
                asked.push([radio, ...all])
                const { sendableMs } = world
                return () => sendableMs
              },
            },
    },
  })
  /** An answer of 105 octets that its station was promised. */
  const promise = (change: Partial<Promised> = {}): void =>
    void promised.push({ radio: 0, turn: 0, octetCount: 105, deadlineMs: lifeMs, ...change })
  const judge = (turn = 0, radio = 0) => box.judge({ radio, turn })
  return { clock, world, asked, box, promise, judge }
}

describe('a question', () => {
  it.each([
    // 0.78 of it must hold the answer and its acknowledgement: 1,870 ms
    ['what its radio may send', { sendableMs: 2_398 }, { sendableMs: 2_397 }],
    ['what the channel gives', { paceShare: 0.024 }, { paceShare: 0.0239 }],
    [
      'what goes before it',
      { sendableMs: 4_000, aheadMs: 1_250 },
      { sendableMs: 4_000, aheadMs: 1_251 },
    ],
  ])('is admitted as far as %s leaves, and not acknowledged beyond', (_, enough, short) => {
    const judged = [enough, short].map((given) => {
      const { clock, judge } = bench(given)
      clock.advanceBy(lifeMs)
      return judge()
    })
    expect(judged).toEqual(['admitted', 'unacknowledged'])
  })

  it('may fill less where its station asked lately, and is refused beyond', () => {
    // a half of 0.78 must hold the answer: 1,190 ms
    expect(bench({ sendableMs: 3_052 }).judge(1)).toBe('admitted')
    expect(bench({ sendableMs: 3_051 }).judge(1)).toBe('refused')
    // and a third
    expect(bench({ sendableMs: 4_577 }).judge(2)).toBe('admitted')
    expect(bench({ sendableMs: 4_576 }).judge(2)).toBe('refused')
  })

  it('is measured on the time of the forecast, up to the end of its answer', () => {
    const { clock, asked, judge } = bench()
    clock.advanceBy(5_000)
    judge(0, 3)
    expect(asked).toEqual([[3, 5_000 + lifeMs, 'answer']])
  })

  it('is admitted where there is no radio, which is never busy', () => {
    const { box, judge, promise } = bench({ sendableMs: 0 })
    promise({ radio: 9 })
    expect([judge(0, 9), box.isBusy(9)]).toEqual(['admitted', false])
  })

  it('is judged by a forecast of at most a second ago, each radio by its own', () => {
    const { clock, world, asked, judge } = bench()
    clock.advanceBy(600)
    expect(judge()).toBe('admitted')
    world.sendableMs = 0
    clock.advanceBy(999)
    expect([judge(), judge(0, 1)]).toEqual(['admitted', 'unacknowledged'])
    clock.advanceBy(1)
    expect(judge()).toBe('unacknowledged')
    expect(asked).toHaveLength(3)
  })

  it('gets no less time from a channel in the course of that second', () => {
    const { clock, judge } = bench({ paceShare: 0.02374 })
    // 0.78 × 0.02374 of 100 s are too little by 18 ms, of 101 s enough
    expect(judge()).toBe('unacknowledged')
    clock.advanceBy(999)
    expect(judge()).toBe('admitted')
  })
})

describe('what is promised already', () => {
  it('counts, on its own radio', () => {
    // 0.78 of 3,924 holds two answers and an acknowledgement: 3,060 ms
    const judged = (sendableMs: number, radio: number) => {
      const { promise, judge } = bench({ sendableMs })
      promise({ radio })
      return judge()
    }
    expect([judged(3_924, 0), judged(3_923, 0)]).toEqual(['admitted', 'unacknowledged'])
    expect(judged(2_398, 1)).toBe('admitted')
  })

  it('must still be in time after an acknowledgement, by 0.95 of what there is until then', () => {
    const judged = (deadlineMs: number) => {
      const { promise, judge } = bench()
      promise({ deadlineMs })
      return judge()
    }
    expect([judged(1_969), judged(1_968)]).toEqual(['admitted', 'unacknowledged'])
    // what is late anyway hinders nobody
    expect([judged(1_253), judged(1_252)]).toEqual(['unacknowledged', 'admitted'])
  })

  it('in a later turn must be after the new answer as well', () => {
    const judged = (deadlineMs: number) => {
      const { promise, judge } = bench()
      promise({ deadlineMs, turn: 1 })
      return judge()
    }
    expect([judged(3_222), judged(3_221)]).toEqual(['admitted', 'unacknowledged'])
  })

  it('is looked at in the order in which it goes out', () => {
    const { promise, judge } = bench()
    // behind the other it is late anyway
    promise({ turn: 1, deadlineMs: 2_000 })
    promise({ turn: 0 })
    expect(judge()).toBe('admitted')
  })

  it('leaves the new answer in time where that goes before others', () => {
    // 0.78 of it must hold 1,870 ms, whatever follows
    const judged = (sendableMs: number) => {
      const { promise, judge } = bench({ sendableMs })
      promise({ turn: 1, deadlineMs: 1, octetCount: 0 })
      return judge()
    }
    expect([judged(2_398), judged(2_397)]).toEqual(['admitted', 'unacknowledged'])
  })
})

describe('a question that was taken', () => {
  it('counts as promised with what its answer is taken for, until that is known', () => {
    const { box, world, clock, judge } = bench({ sendableMs: 3_923 })
    expect(judge()).toBe('admitted')
    box.begin(1, { radio: 0, turn: 0 })
    expect(judge()).toBe('unacknowledged')
    expect(judge(0, 1)).toBe('admitted')
    box.end(1)
    expect(judge()).toBe('admitted')
    world.sendableMs = 2_398
    clock.advanceBy(1_000)
    // it ended without an answer: nothing was learnt
    expect(judge()).toBe('admitted')
  })

  it('changes by a tenth what the next one is taken for', () => {
    const judged = (sendableMs: number) => {
      const { box, judge } = bench({ sendableMs })
      box.begin(1, { radio: 0, turn: 0 })
      box.end(1, 205)
      return judge()
    }
    // 115 octets: 100 ms more
    expect([judged(2_526), judged(2_525)]).toEqual(['admitted', 'unacknowledged'])
  })
})

describe('a radio', () => {
  it('is busy when more than half of what can be sent in time is promised', () => {
    const busy = (sendableMs: number) => {
      const { box, promise } = bench({ sendableMs })
      promise()
      return box.isBusy(0)
    }
    expect([busy(3_051), busy(3_052)]).toEqual([true, false])
  })
})
