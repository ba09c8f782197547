import { describe, expect, it } from 'vitest'
import { boundedPort } from '../../src/radio/boundedPort.js'
import { createDutyLedger } from '../../src/radio/dutyLedger.js'
import { createIdentificationDebt, triesWithin } from '../../src/radio/identification.js'
import { createPersistence } from '../../src/radio/persistence.js'
import type { HeardFrame } from '../../src/radio/port.js'
import type { RadioPort } from '../../src/radio/radioPort.js'
import { createTransmitQueue, leavesReserve, type Waiting } from '../../src/radio/transmitQueue.js'
import { createAllowance } from '../../src/runtime/allowance.js'
import { clockTrust, wallAgeMs } from '../../src/runtime/clockTrust.js'
import { createGuard } from '../../src/runtime/guard.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { silentRadios } from '../../src/setup/silentRadios.js'
import { controllerBench } from '../radio/controllerBench.js'
import { frame, ownCall, transmitDefaults } from '../radio/fixtures.js'

/** Each limit of a radio, and of the clock that it lives on, at n, and one beyond it. */

describe('channel access', () => {
  const wins = (draw: number, persistence: number): boolean =>
    createPersistence(() => draw / 256).ask(0, false, { slotTimeMs: 100, persistence })

  it('a draw of at most P sends', () => {
    expect([wins(63, 63), wins(64, 63), wins(0, 0), wins(255, 255)]).toEqual([
      ...[true, false, true, true],
    ])
  })

  it('a draw that was lost is followed by another a slot later, of 10 ms at least', () => {
    const asksAgainAt = (slotTimeMs: number): number => {
      const persistence = createPersistence(() => 0.99)
      persistence.ask(0, false, { slotTimeMs, persistence: 0 })
      return persistence.nextAtMs()
    }
    expect([asksAgainAt(0), asksAgainAt(10), asksAgainAt(11)]).toEqual([10, 10, 11])
    const again = createPersistence(() => (first ? 0.99 : 0))
    let first = true
    again.ask(0, false, { slotTimeMs: 100, persistence: 0 })
    first = false
    expect(again.ask(99, false, { slotTimeMs: 100, persistence: 0 })).toBe(false)
    expect(again.ask(100, false, { slotTimeMs: 100, persistence: 0 })).toBe(true)
  })
})

describe('the queue', () => {
  const item = (id: string, priority: Waiting['priority'] = 'answer'): Waiting => ({
    ...{ id, priority, notAfterMs: 1000, origin: 'node', sinceMs: 0 },
    content: { kind: 'frame', octets: new Uint8Array(), identifies: true },
  })

  it('takes as many as it may hold', () => {
    const queue = createTransmitQueue(2)
    expect([queue.add(item('a')), queue.add(item('b'))]).toEqual([undefined, undefined])
    expect(queue.add(item('c'))?.id).toBe('c')
    expect(queue.add(item('d', 'acknowledgement'))?.id).toBe('b')
  })

  it('gives up what has reached its time', () => {
    const queue = createTransmitQueue(2)
    queue.add(item('a'))
    expect([queue.takeExpired(999).length, queue.takeExpired(1000).length]).toEqual([0, 1])
  })

  it('the reserve is for what is as urgent as an emergency', () => {
    expect((['acknowledgement', 'emergency', 'answer'] as const).map(leavesReserve)).toEqual([
      ...[false, false, true],
    ])
  })
})

describe('the duty limit', () => {
  const limits = [{ windowMs: 100_000, share: 0.2 }]

  it('allows as much as fits the window, and nothing longer', () => {
    const ledger = createDutyLedger(limits)
    expect(ledger.longestMs(0)).toBe(20_000)
    expect([ledger.earliestMs(0, 20_000), ledger.earliestMs(0, 20_001)]).toEqual([0, undefined])
    ledger.note({ fromMs: 0, toMs: 15_000 })
    expect(ledger.longestMs(15_000)).toBe(5_000)
    // 20 s more fit when the first 15 s have left the window that ends with them
    expect(ledger.earliestMs(15_000, 5_000)).toBe(15_000)
    expect(ledger.earliestMs(15_000, 5_001)).toBe(95_000)
  })

  it('counts what lies in the window, and forgets what has left it', () => {
    const ledger = createDutyLedger(limits)
    ledger.note({ fromMs: 0, toMs: 10_000 })
    expect([ledger.usedShare(100_000), ledger.usedShare(105_000)]).toEqual([0.5, 0.25])
    ledger.note({ fromMs: 109_000, toMs: 110_000 })
    expect(ledger.spans()).toHaveLength(2)
    ledger.note({ fromMs: 110_000, toMs: 110_001 })
    expect(ledger.spans()).toHaveLength(2)
  })

  it('a share is above 0, and at most 1', () => {
    const made = (share: number) => () => createDutyLedger([{ windowMs: 1, share }])
    expect(made(0)).toThrow(RangeError)
    expect(made(1)).not.toThrow()
    expect(made(1.001)).toThrow(RangeError)
  })
})

describe('the identification', () => {
  it('is due after its interval, half a minute before ten minutes at the latest', () => {
    const due = (intervalMs: number): number | undefined => {
      const debt = createIdentificationDebt({ intervalMs, quietMs: 3_600_000 })
      debt.noteTransmission({ fromMs: 0, toMs: 1 }, false)
      return debt.dueAtMs()
    }
    expect([due(540_000), due(570_000), due(570_001)]).toEqual([540_000, 570_000, 570_000])
  })

  it('is due after the quiet at the end of a communication', () => {
    const debt = createIdentificationDebt({ intervalMs: 540_000, quietMs: 20_000 })
    debt.noteTransmission({ fromMs: 0, toMs: 1_000 }, false)
    debt.noteTransmission({ fromMs: 5_000, toMs: 6_000 }, false)
    expect([debt.dueAtMs(), debt.latestAtMs()]).toEqual([26_000, 540_000])
  })

  it('airtime is set aside for two where a tenth of the allowance holds both', () => {
    expect([triesWithin(20_000, 1_000), triesWithin(19_999, 1_000)]).toEqual([2, 1])
    expect([triesWithin(90_000, 1_000), triesWithin(1, 1_000)]).toEqual([2, 1])
  })
})

describe('the time-out timer', () => {
  it('cuts audio that hangs when it is over, not before', () => {
    const bench = controllerBench({ timeOutMs: 8_000 })
    bench.hangs = true
    bench.send('a', frame(ownCall, 'hi'))
    bench.advanceTo(7_999)
    expect(bench.sent[0]!.toMs).toBeNaN()
    bench.advanceTo(8_000)
    expect(bench.sent[0]!.toMs - bench.sent[0]!.fromMs).toBe(8_000)
  })

  it('holds a frame that it lets through, and refuses one that is longer', () => {
    const needs = (timeOutMs: number): string => {
      const access = { ...transmitDefaults.access, keyDelayMs: 1_500 }
      const bench = controllerBench({ timeOutMs, access })
      bench.send('a', frame(ownCall, 'x'.repeat(200)))
      bench.advanceTo(60_000)
      return bench.outcomes.at(-1)!.kind
    }
    let shortest = 2_000
    while (needs(shortest) !== 'sent') shortest++
    // one octet at 1200 baud is 7 ms, and zero insertion some more: the frame itself decides
    expect(needs(shortest - 1)).toBe('refused')
    expect(shortest).toBeGreaterThan(1_500 + 50 + 200 * 6.6)
    expect(shortest).toBeLessThan(1_500 + 50 + 260 * 6.7)
  })

  it('a line that does not come on is given up after a second', () => {
    const bench = controllerBench()
    bench.deadLine = true
    bench.send('a', frame(ownCall, 'hi'))
    bench.advanceTo(999)
    expect(bench.sent[0]!.toMs).toBeNaN()
    bench.advanceTo(1_000)
    expect(bench.sent[0]!.toMs).toBe(1_000)
  })
})

describe('frames that come too fast', () => {
  /** How many are dropped, of so many at once, and then so many each second. */
  function tooFast(atOnce: number, eachSecond: number): number {
    const virtual = virtualClock()
    let tell: (frame: HeardFrame) => void = () => {}
    const inner = {
      onFrame(listener: typeof tell) {
        tell = listener
      },
    }
    const port = boundedPort(inner as unknown as RadioPort, {
      ...{ clock: virtual, onDropped: () => {}, onFault: () => {} },
    })
    const hear = (count: number): void => {
      for (let index = 0; index < count; index++) tell({} as HeardFrame)
    }
    hear(atOnce)
    for (let second = 0; second < 10; second++) {
      virtual.advanceBy(1000)
      hear(eachSecond)
    }
    return port.dropped.tooFast
  }

  it('200 at once, thirty a second after that', () => {
    expect([tooFast(200, 0), tooFast(201, 0)]).toEqual([0, 1])
    expect([tooFast(200, 30), tooFast(200, 31)]).toEqual([0, 10])
  })
})

describe('an allowance', () => {
  it('is used up at its limit, and filled again up to it', () => {
    const clock = virtualClock()
    const allowance = createAllowance(clock, 3, 1)
    expect([1, 1, 1, 1].map((one) => allowance.take(one))).toEqual([true, true, true, false])
    clock.advanceBy(999)
    expect(allowance.take(1)).toBe(false)
    clock.advanceBy(1)
    expect(allowance.take(1)).toBe(true)
    clock.advanceBy(60_000)
    expect([allowance.take(3), allowance.take(0.001)]).toEqual([true, false])
  })
})

describe('the clock', () => {
  /** A wall clock that can be set. */
  function settable() {
    const inner = virtualClock()
    let byMs = 0
    const clock = { ...inner, wallMs: () => inner.wallMs() + byMs }
    return {
      clock,
      advanceBy: (ms: number) => inner.advanceBy(ms),
      set(ms: number) {
        byMs += ms
      },
    }
  }

  it('is trusted after an hour in which nothing set it by 5 s', () => {
    const { clock, advanceBy, set } = settable()
    const trust = clockTrust(clock)
    advanceBy(3_599_999)
    expect(trust.trusted()).toBe(false)
    advanceBy(1)
    expect(trust.trusted()).toBe(true)
    set(4_999)
    expect([trust.trusted(), trust.steps.count]).toEqual([true, 0])
    set(1)
    expect([trust.trusted(), trust.steps.count]).toEqual([false, 1])
  })

  it('a GPS counts for ten minutes, and disagrees beyond 5 s', () => {
    const { clock, advanceBy } = settable()
    const trust = clockTrust(clock)
    trust.gpsSays(5_000)
    expect(trust.trusted()).toBe(true)
    advanceBy(600_000)
    expect(trust.trusted()).toBe(true)
    advanceBy(1)
    expect(trust.trusted()).toBe(false)
    trust.gpsSays(5_001)
    expect(trust.trusted()).toBe(false)
  })

  it('a mark of network time is of now from 5 s ahead to 5 s before the last look', () => {
    const confirmedBy = (aheadMs: number): boolean => {
      const { clock, advanceBy } = settable()
      let mark: number | undefined
      const trust = clockTrust(clock, { networkTimeMark: () => mark })
      advanceBy(60_000)
      mark = clock.wallMs() + aheadMs
      return trust.confirmed()
    }
    expect([5_001, 5_000, 0, -65_000, -65_001].map(confirmedBy)).toEqual([
      ...[false, true, true, true, false],
    ])
    const { clock } = settable()
    const atStart = (aheadMs: number): boolean =>
      clockTrust(clock, { networkTimeMark: () => clock.wallMs() + aheadMs }).confirmed()
    expect([5_001, 5_000, -86_400_000].map(atStart)).toEqual([false, true, true])
  })

  it('a stamp up to 5 s ahead has no age, one farther ahead an unknown one', () => {
    expect([wallAgeMs(5_000, 0), wallAgeMs(5_001, 0), wallAgeMs(0, 7)]).toEqual([0, undefined, 7])
  })
})

describe('what goes wrong', () => {
  it('is reported for 200 places in the code', () => {
    let reports = 0
    const guard = createGuard(() => reports++)
    for (let place = 0; place < 201; place++)
      guard.call(`place ${place}`, () => {
        throw new Error('on purpose')
      })
    expect([reports, guard.faultCount]).toEqual([200, 201])
  })

  it('a thread that is silent for more than five minutes is told', () => {
    const radio = { port: { name: 'r' } as RadioPort, lifeSignAtMs: () => 0 }
    expect(silentRadios([radio], 300_000)).toBeUndefined()
    expect(silentRadios([radio], 300_001)).toMatch(/r has told nothing for 5 minutes/)
  })
})
