import { describe, expect, it } from 'vitest'
import { boundedPort } from '../../src/radio/boundedPort.js'
import type { HeardFrame } from '../../src/radio/port.js'
import type { RadioPort } from '../../src/radio/radioPort.js'
import type { Clock } from '../../src/runtime/clock.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

/** A port that hears what it is told to, on a clock on which each frame takes `costMs` of the main thread. */
function bench(costMs = 0, radioFaultCount?: number) {
  const virtual = virtualClock()
  let spentMs = 0
  // what the thread works passes on the clock, and calls no timer meanwhile
  const clock: Clock = {
    monotonicMs: () => virtual.monotonicMs() + spentMs,
    wallMs: () => virtual.wallMs(),
    at: (atMs, run) => virtual.at(Math.max(virtual.monotonicMs(), atMs - spentMs), run),
  }
  const given: HeardFrame[] = []
  const drops: string[] = []
  const faults: string[] = []
  let tell: (frame: HeardFrame) => void = () => {}
  const port = boundedPort(
    {
      radio: 0,
      name: 'radio',
      onFrame: (listener: (frame: HeardFrame) => void) => {
        tell = listener
      },
      state: () => ({ faultCount: radioFaultCount }) as ReturnType<RadioPort['state']>,
    } as RadioPort,
    {
      clock,
      onDropped: (reason) => drops.push(reason),
      onFault: (text) => faults.push(text),
    },
  )
  port.onFrame((frame) => {
    given.push(frame)
    spentMs += costMs
  })
  const hear = (count: number): void => {
    for (let at = 0; at < count; at++)
      tell({
        octets: Uint8Array.of(at),
        radio: 0,
        heardAtMs: at,
        heardAtWallMs: at,
        repairedBits: 0,
        detector: 'test',
      })
  }
  return { virtual, port, given, drops, faults, hear, spentMs: () => spentMs }
}

describe('a listener that throws', () => {
  it('keeps neither later frames nor other listeners from being served', () => {
    const { port, given, hear, faults } = bench()
    const others: HeardFrame[] = []
    port.onFrame(() => {
      throw new Error('on purpose')
    })
    port.onFrame((frame) => void others.push(frame))
    hear(3)
    expect(given).toHaveLength(3)
    expect(others).toHaveLength(3)
    expect(faults).toEqual([expect.stringMatching(/^a frame that was heard: on purpose/)])
  })
})

describe('a radio that hears more than a channel carries', () => {
  it('frames of an ordinary channel are given on at once, in their order', () => {
    const { virtual, given, hear, drops } = bench(2)
    for (let second = 0; second < 600; second++) {
      const before = given.length
      hear(7)
      expect(given.length).toBe(before + 7)
      virtual.advanceBy(1000)
    }
    expect(drops).toEqual([])
  })

  it('a flood has the thread for 20 ms at a time, and half of it in the long run', () => {
    const { virtual, given, hear, spentMs } = bench(5)
    let longestMs = 0
    const turn = (run: () => void): void => {
      const beforeMs = spentMs()
      run()
      longestMs = Math.max(longestMs, spentMs() - beforeMs)
    }
    for (let ms = 0; ms < 10_000; ms++) {
      turn(() => hear(ms % 5 === 0 ? 2 : 0))
      turn(() => virtual.advanceBy(1))
    }
    // the frame with which the time is used up is finished
    expect(longestMs).toBeLessThanOrEqual(25)
    const seen = given.map(({ heardAtMs }) => heardAtMs)
    expect(seen.length).toBeGreaterThan(300)
    expect(spentMs()).toBeLessThanOrEqual((10_000 + spentMs()) / 2 + 25)
  })

  it('what is too fast, and what cannot wait, is dropped, counted and said; afterwards all is well', () => {
    const quick = bench()
    quick.hear(201)
    expect(quick.port.dropped).toEqual({ tooFast: 1, tooMany: 0 })
    expect(quick.drops).toEqual(['more than 30 frames a second, faster than any channel'])

    const { virtual, port, given, drops, hear } = bench(50)
    for (let second = 0; second < 30; second++) {
      hear(25)
      virtual.advanceBy(1000)
    }
    expect(port.dropped.tooMany).toBeGreaterThan(50)
    expect(drops).toHaveLength(port.dropped.tooFast + port.dropped.tooMany)
    virtual.advanceBy(60_000)
    const before = given.length
    expect(before + drops.length).toBe(750)
    hear(1)
    expect(given.length).toBe(before + 1)
  })

  it('rests when it has worked for longer than its 20 ms, until half of the time is the others’, and goes on', () => {
    const { virtual, given, hear } = bench(5)
    // each 5 ms of work give 2.5 ms back: the eighth frame is 2.5 ms over the 20 ms, which are made up for in 5 ms
    hear(10)
    const counts = [given.length]
    for (const ms of [4, 1, 4, 1]) {
      virtual.advanceBy(ms)
      counts.push(given.length)
    }
    expect(counts).toEqual([8, 8, 9, 9, 10])
    hear(1)
    expect(given).toHaveLength(10)
    virtual.advanceBy(1000)
    hear(1)
    expect(given).toHaveLength(12)
  })

  it('has at most 200 frames wait', () => {
    const { virtual, port, given, drops, hear } = bench(1_000_000)
    hear(201)
    expect([given.length, port.dropped]).toEqual([1, { tooFast: 0, tooMany: 0 }])
    virtual.advanceBy(1000)
    hear(1)
    expect(port.dropped).toEqual({ tooFast: 0, tooMany: 1 })
    expect(drops).toEqual(['200 frames wait already'])
  })

  it('counts what a listener throws to what the radio counts', () => {
    for (const [ofRadio, sum] of [
      [undefined, 1],
      [2, 3],
    ] as const) {
      const { port, hear, given, faults } = bench(0, ofRadio)
      expect(port.state().faultCount).toBe(ofRadio ?? 0)
      port.onFrame(() => {
        throw new Error('on purpose')
      })
      hear(1)
      expect(port.state().faultCount).toBe(sum)
      expect(faults.join()).toContain('on purpose')
      expect(given).toHaveLength(1)
    }
  })
})
