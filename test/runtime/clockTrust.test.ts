import { describe, expect, it } from 'vitest'
import type { Clock } from '../../src/runtime/clock.js'
import { clockTrust, wallAgeMs } from '../../src/runtime/clockTrust.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

const minuteMs = 60_000
const hourMs = 3_600_000
const dayMs = 86_400_000

/** A clock whose wall time can be set, and a mark of network time. */
function bench() {
  const inner = virtualClock()
  let setByMs = 0
  const clock: Clock = { ...inner, wallMs: () => inner.wallMs() + setByMs }
  const network: { mark: number | undefined } = { mark: undefined }
  const make = () => clockTrust(clock, { networkTimeMark: () => network.mark })
  return {
    make,
    network,
    /** Network time is received, and sets the clock by so much. */
    receive: (byMs = 0) => {
      setByMs += byMs
      network.mark = clock.wallMs()
    },
    wait: (ms: number) => inner.advanceBy(ms),
    set: (byMs: number) => {
      setByMs += byMs
    },
  }
}

describe('trust in the wall clock', () => {
  it('comes after an hour in which it went with the monotonic one', () => {
    const { make, wait } = bench()
    const trust = make()
    expect(trust.trusted()).toBe(false)
    wait(hourMs - 1)
    expect(trust.trusted()).toBe(false)
    wait(1)
    expect(trust.trusted()).toBe(true)
    expect(trust.steps.count).toBe(0)
  })

  it.each([
    [8 * dayMs, 'forward 8 days'],
    [-hourMs, 'back an hour'],
    [5_000, 'by as little as a step is'],
  ])('goes when it is set by %d ms (%s), and comes again after another hour', (byMs) => {
    const { make, wait, set } = bench()
    const trust = make()
    wait(2 * hourMs)
    expect(trust.trusted()).toBe(true)
    set(byMs)
    expect(trust.trusted()).toBe(false)
    expect(trust.steps).toEqual({ count: 1, lastMs: byMs })
    wait(minuteMs)
    // and set right again
    set(-byMs)
    expect(trust.trusted()).toBe(false)
    expect(trust.steps).toEqual({ count: 2, lastMs: -byMs })
    wait(hourMs - 1)
    expect(trust.trusted()).toBe(false)
    wait(1)
    expect(trust.trusted()).toBe(true)
  })

  it('is not shaken by what a time service makes up by going faster', () => {
    const { make, wait, set } = bench()
    const trust = make()
    for (let minute = 0; minute < 60; minute++) {
      wait(minuteMs)
      set(30)
    }
    expect(trust.trusted()).toBe(true)
  })

  it('comes with network time, at the start and later', () => {
    const { make, network, receive } = bench()
    receive()
    expect(make().trusted()).toBe(true)
    network.mark = undefined
    const trust = make()
    expect(trust.trusted()).toBe(false)
    receive()
    expect(trust.trusted()).toBe(true)
    network.mark = undefined
    expect(trust.trusted()).toBe(false)
  })

  it('where it is set, comes with the next network time that sets nothing', () => {
    const { make, receive, wait, set } = bench()
    receive()
    const trust = make()
    wait(minuteMs)
    receive(90 * dayMs)
    expect(trust.confirmed()).toBe(false)
    wait(minuteMs)
    expect(trust.confirmed()).toBe(false)
    receive()
    expect(trust.confirmed()).toBe(true)
    set(8 * dayMs)
    expect(trust.confirmed()).toBe(false)
    wait(minuteMs)
    expect(trust.confirmed()).toBe(false)
    receive(-8 * dayMs)
    wait(minuteMs)
    expect(trust.confirmed()).toBe(false)
    receive(4_000)
    expect(trust.confirmed()).toBe(true)
  })

  it.each([
    [-2 * minuteMs, 'back'],
    [2 * minuteMs, 'forward'],
    [90 * dayMs, 'far'],
  ])('network time sets the clock and somebody else by %d ms (%s), between two looks', (byMs) => {
    const { make, receive, wait, set } = bench()
    const trust = make()
    wait(minuteMs)
    expect(trust.confirmed()).toBe(false)
    receive(-5 * minuteMs)
    set(byMs)
    expect(trust.confirmed()).toBe(false)
    wait(minuteMs)
    expect(trust.confirmed()).toBe(false)
    expect(trust.trusted()).toBe(false)
    // The same to where it was before: no step is seen.
    receive(-byMs)
    set(byMs)
    wait(minuteMs / 2)
    expect(trust.confirmed()).toBe(false)
    receive(-byMs)
    expect(trust.confirmed()).toBe(false)
    wait(30 * minuteMs)
    receive()
    wait(minuteMs)
    expect(trust.confirmed()).toBe(true)
  })

  it('does not come with a mark that lies ahead at the start: the clock was set since', () => {
    const { make, receive, wait, set } = bench()
    receive()
    wait(minuteMs)
    set(-2 * minuteMs)
    const trust = make()
    expect(trust.confirmed()).toBe(false)
    receive()
    expect(trust.confirmed()).toBe(true)
  })

  it('goes where the clock was set since a former run, or nothing had confirmed it then', () => {
    const { make, receive, wait, set } = bench()
    receive()
    wait(minuteMs)
    const aheadMs = Date.UTC(2026, 0, 1)
    const same = make()
    same.wasAhead(aheadMs)
    expect([same.confirmed(), same.steps.count]).toEqual([true, 0])
    const unknown = make()
    unknown.wasAhead(undefined)
    expect(unknown.confirmed()).toBe(false)
    set(2 * hourMs)
    const later = make()
    expect(later.confirmed()).toBe(true)
    later.wasAhead(aheadMs)
    expect([later.confirmed(), later.steps.count, later.steps.lastMs]).toEqual([
      ...[false, 1, 2 * hourMs],
    ])
    set(-2 * hourMs)
    wait(minuteMs)
    expect(later.confirmed()).toBe(false)
    receive()
    expect([unknown, later].map((one) => one.confirmed())).toEqual([true, true])
  })

  it('comes with a GPS that agrees; one that does not outweighs everything, for ten minutes', () => {
    const { make, receive, wait, set } = bench()
    const trust = make()
    trust.gpsSays(-400)
    expect(trust.trusted()).toBe(true)
    // what it said of the clock before it was set is of no use
    set(hourMs)
    expect(trust.trusted()).toBe(false)
    trust.gpsSays(-hourMs)
    receive()
    expect(trust.trusted()).toBe(false)
    wait(2 * hourMs)
    expect(trust.trusted()).toBe(true)
    trust.gpsSays(-hourMs)
    expect(trust.trusted()).toBe(false)
    trust.gpsSays(5_000)
    expect(trust.trusted()).toBe(true)
    trust.gpsSays(5_001)
    expect(trust.trusted()).toBe(false)
  })
})

describe('the age of a stamp', () => {
  it('is unknown when it lies ahead', () => {
    expect(wallAgeMs(1_000, 61_000)).toBe(60_000)
    expect(wallAgeMs(61_000, 61_000)).toBe(0)
    expect(wallAgeMs(66_000, 61_000)).toBe(0)
    expect(wallAgeMs(66_001, 61_000)).toBeUndefined()
  })
})
