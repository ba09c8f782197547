import { describe, expect, it } from 'vitest'
import { type KeptOpenOptions, keepOpen, type StreamHandlers } from '../../src/kiss/octetStream.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

function bench(change: Partial<KeptOpenOptions> = {}) {
  const clock = virtualClock()
  const attempts: { atMs: number; handlers: StreamHandlers; closed: number }[] = []
  const told: string[] = []
  const link = keepOpen({
    clock,
    delayMs: 1000,
    delayMsMax: 5000,
    open(handlers) {
      const attempt = { atMs: clock.monotonicMs(), handlers, closed: 0 }
      attempts.push(attempt)
      return {
        write: () => {},
        waitingOctets: () => 0,
        close: () => {
          attempt.closed++
        },
      }
    },
    handlers: {
      onOpen: () => told.push('open'),
      onOctets: (chunk) => told.push(Buffer.from(chunk).toString()),
      onClosed: (reason) => told.push(reason),
    },
    ...change,
  })
  const last = () => attempts.at(-1)!
  return { clock, attempts, told, link, last }
}

describe('keepOpen', () => {
  it('tries again with growing waits, up to the longest', () => {
    const { clock, attempts, last, link } = bench()
    for (let round = 0; round < 6; round++) {
      last().handlers.onClosed('refused')
      clock.advanceTo(link.nextAttemptMs!)
    }
    expect(attempts.map(({ atMs }) => atMs)).toEqual([0, 1000, 3000, 7000, 12_000, 17_000, 22_000])
    expect(link.counters).toEqual({ opened: 0, failed: 6, lost: 0 })
  })

  it('a stream that was sound starts with the small wait again, one that broke at once does not', () => {
    const { clock, last, link } = bench()
    last().handlers.onClosed('refused')
    clock.advanceBy(1000)
    last().handlers.onOpen()
    clock.advanceBy(100)
    last().handlers.onClosed('broke')
    expect(link.nextAttemptMs! - clock.monotonicMs()).toBe(2000)
    clock.advanceBy(2000)
    last().handlers.onOpen()
    clock.advanceBy(60_000)
    last().handlers.onClosed('unplugged')
    expect(link.nextAttemptMs! - clock.monotonicMs()).toBe(1000)
    expect(link.counters).toEqual({ opened: 2, failed: 1, lost: 2 })
  })

  it('gives up an attempt that takes too long', () => {
    const { clock, attempts, told } = bench({ openMsMax: 10_000 })
    clock.advanceTo(10_500)
    expect(attempts[0]!.closed).toBe(1)
    expect(told).toEqual(['no answer within 10000 ms'])
    clock.advanceTo(11_000)
    expect(attempts).toHaveLength(2)
    attempts[1]!.handlers.onOpen()
    clock.advanceTo(60_000)
    expect(attempts).toHaveLength(2)
  })

  it('hears nothing of a stream that is over', () => {
    const { clock, attempts, told, link } = bench()
    attempts[0]!.handlers.onOpen()
    attempts[0]!.handlers.onOctets(Buffer.from('hello'))
    attempts[0]!.handlers.onClosed('gone')
    attempts[0]!.handlers.onClosed('gone twice')
    attempts[0]!.handlers.onOctets(Buffer.from('late'))
    expect(told).toEqual(['open', 'hello', 'gone'])
    expect(link.stream).toBeUndefined()
    clock.advanceBy(1000)
    attempts[0]!.handlers.onOpen()
    expect(link.stream).toBeUndefined()
    attempts[1]!.handlers.onOpen()
    expect(link.stream).toBeDefined()
  })

  it('stays closed', () => {
    const { clock, attempts, told, link } = bench()
    link.close()
    expect(attempts[0]!.closed).toBe(1)
    attempts[0]!.handlers.onClosed('closed')
    clock.advanceBy(100_000)
    expect(attempts).toHaveLength(1)
    expect(told).toEqual([])
    expect(clock.nextAtMs()).toBeUndefined()
  })
})
