import { describe, expect, it } from 'vitest'
import { every } from '../../src/runtime/clock.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

describe('virtual clock', () => {
  it('runs what is due in order of time, then of booking', () => {
    const clock = virtualClock()
    const ran: string[] = []
    clock.at(20, () => ran.push('late'))
    clock.at(10, () => ran.push('first'))
    clock.at(10, () => ran.push('second'))
    clock.advanceTo(15)
    expect(ran).toEqual(['first', 'second'])
    expect(clock.monotonicMs()).toBe(15)
    clock.advanceBy(5)
    expect(ran).toEqual(['first', 'second', 'late'])
  })

  it('a call sees its own time, and may book and cancel others', () => {
    const clock = virtualClock(1000)
    const ran: number[] = []
    const cancel = clock.at(30, () => ran.push(-1))
    clock.at(10, () => {
      cancel()
      clock.at(12, () => ran.push(clock.wallMs()))
    })
    clock.advanceTo(100)
    expect(ran).toEqual([1012])
    expect(clock.nextAtMs()).toBeUndefined()
  })

  it('keeps order among many random bookings and cancellations', () => {
    const clock = virtualClock()
    let state = 1
    const next = (): number => {
      state = (state * 48271) % 2147483647
      return state
    }
    const times: number[] = []
    for (let index = 0; index < 2000; index++) {
      const cancel = clock.at(next() % 500, () => times.push(clock.monotonicMs()))
      if (index % 3 === 0) cancel()
    }
    clock.advanceTo(500)
    expect(times).toHaveLength(1333)
    expect(times).toEqual([...times].sort((a, b) => a - b))
  })

  it('refuses the past and a runaway timer', () => {
    const clock = virtualClock(0, 1000)
    clock.advanceTo(5)
    expect(() => clock.advanceTo(4)).toThrow(RangeError)
    const again = (): void => {
      clock.at(clock.monotonicMs(), again)
    }
    clock.at(6, again)
    expect(() => clock.advanceTo(7)).toThrow(/more than 1000 calls/)
  })

  it('lets promises settle between calls', async () => {
    const clock = virtualClock()
    const ran: string[] = []
    clock.at(1, () => {
      void Promise.resolve().then(() => clock.at(2, () => ran.push('booked by a promise')))
    })
    await clock.advanceToAsync(3)
    expect(ran).toEqual(['booked by a promise'])
  })

  it('every() keeps its beat until cancelled', () => {
    const clock = virtualClock()
    const at: number[] = []
    const cancel = every(clock, 10, () => at.push(clock.monotonicMs()))
    clock.advanceTo(35)
    cancel()
    clock.advanceTo(100)
    expect(at).toEqual([10, 20, 30])
  })
})
