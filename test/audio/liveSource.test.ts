import { describe, expect, it } from 'vitest'
import { createLiveSource, type FeedEvents } from '../../src/audio/liveSource.js'
import { Failure } from '../../src/runtime/failure.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

const broken = (got: string): Failure =>
  new Failure({ code: 'audio-device', subject: 'card', got, expected: 'audio' })

function bench(options: { stallMs?: number; channel?: number; channelCount?: number } = {}) {
  const clock = virtualClock()
  const attempts: { atMs: number; events: FeedEvents; closed: boolean }[] = []
  const heard: number[] = []
  const faults: string[] = []
  let ends = 0
  const { stallMs } = options
  const source = createLiveSource({
    name: 'test',
    sampleRateHz: 8000,
    sampleFormat: 's16le',
    channelCount: options.channelCount ?? 1,
    channel: options.channel ?? 0,
    clock,
    connect(events) {
      const attempt = { atMs: clock.monotonicMs(), events, closed: false }
      attempts.push(attempt)
      return {
        async close() {
          attempt.closed = true
        },
      }
    },
    ...(stallMs === undefined
      ? {}
      : { stall: { afterMs: stallMs, failure: () => broken('silence') } }),
  })
  source.open({
    onBlock: (block) => heard.push(...block),
    onFault: (failure) => faults.push(failure.inShort),
    onEnd: () => ends++,
  })
  const last = () => attempts.at(-1)!
  return { clock, source, attempts, heard, faults, last, ends: () => ends }
}

describe('a live source', () => {
  it('waits longer after each failed attempt, half a minute at most, and tells the same fault once', () => {
    const { clock, source, attempts, faults, last } = bench()
    for (let count = 0; count < 10; count++) {
      last().events.onLost(broken('unplugged'))
      clock.advanceBy(30_000)
    }
    const waits = attempts.slice(1).map(({ atMs }, index) => atMs - 30_000 * index)
    expect(waits).toEqual([500, 1000, 2000, 4000, 8000, 16_000, 30_000, 30_000, 30_000, 30_000])
    expect(faults).toEqual(['unplugged'])
    expect(source.counters).toMatchObject({ faults: 10, restarts: 10 })
  })

  it('tells a fault anew, and waits briefly again, after ten seconds of good audio', () => {
    const { clock, attempts, faults, last } = bench()
    const fail = (): void => last().events.onLost(broken('unplugged'))
    for (let count = 0; count < 5; count++) {
      fail()
      clock.advanceBy(30_000)
    }
    last().events.onOctets(Uint8Array.of(0, 0))
    clock.advanceBy(10_000)
    last().events.onOctets(Uint8Array.of(0, 0))
    fail()
    const lostMs = clock.monotonicMs()
    clock.advanceBy(500)
    expect(last().atMs).toBe(lostMs + 500)
    expect(faults).toEqual(['unplugged', 'unplugged'])
    expect(attempts).toHaveLength(7)
  })

  it('hands over the chosen channel and drops half a sample frame at a seam', () => {
    const { clock, heard, last } = bench({ channel: 1, channelCount: 2 })
    last().events.onOctets(Uint8Array.of(0, 0, 0, 0x80, 1, 2, 3))
    last().events.onLost(broken('gone'))
    clock.advanceBy(500)
    last().events.onOctets(Uint8Array.of(0, 0, 0xff, 0x7f))
    expect(heard).toEqual([-1, 1])
  })

  it('takes a connection that brings nothing for lost, and closes it', () => {
    const { clock, attempts, faults, last } = bench({ stallMs: 5000 })
    clock.advanceBy(4000)
    last().events.onOctets(Uint8Array.of(0, 0))
    clock.advanceBy(5199)
    expect(faults).toEqual([])
    clock.advanceBy(1)
    expect(faults).toEqual(['silence'])
    expect(attempts[0]!.closed).toBe(true)
    clock.advanceBy(500)
    expect(attempts).toHaveLength(2)
  })

  it('takes audio that waited through a stall of our own for what it is', () => {
    const { clock, faults, last } = bench({ stallMs: 5000 })
    // Timers come first after a stall, then what stands in the pipe.
    clock.advanceBy(5000)
    last().events.onOctets(Uint8Array.of(0, 0))
    clock.advanceBy(5000)
    expect(faults).toEqual([])
  })

  it('hears nothing of a connection that it gave up', () => {
    const { clock, attempts, heard, source, ends } = bench()
    attempts[0]!.events.onLost(broken('gone'))
    attempts[0]!.events.onOctets(Uint8Array.of(0, 0))
    attempts[0]!.events.onLost(broken('gone again'))
    attempts[0]!.events.onEnd()
    clock.advanceBy(500)
    expect(heard).toEqual([])
    expect(ends()).toBe(0)
    expect(attempts).toHaveLength(2)
    expect(source.counters.faults).toBe(1)
  })

  it('does nothing after close', async () => {
    const { clock, attempts, heard, faults, source, last } = bench({ stallMs: 100 })
    await source.close()
    last().events.onOctets(Uint8Array.of(0, 0))
    last().events.onLost(broken('closed'))
    clock.advanceBy(60_000)
    expect(attempts).toHaveLength(1)
    expect(attempts[0]!.closed).toBe(true)
    expect([heard, faults]).toEqual([[], []])
  })

  it('counts overruns and tells the end once', () => {
    const { source, last, ends } = bench()
    last().events.onOverrun()
    last().events.onEnd()
    last().events.onEnd()
    expect(source.counters.overruns).toBe(1)
    expect(ends()).toBe(1)
  })
})
