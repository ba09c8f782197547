import { expect, it } from 'vitest'
import { createReopening } from '../../src/devices/reopening.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

it('tries anew after waits that double up to the longest, and from the first after it worked', () => {
  const clock = virtualClock()
  const attempts: number[] = []
  const reopening = createReopening(clock, { first: 100, longest: 350 }, () => {
    attempts.push(clock.monotonicMs())
    if (attempts.length === 4) reopening.sound()
    if (attempts.length < 6) reopening.later()
  })
  reopening.later()
  expect(reopening.atMs).toBe(100)
  clock.advanceBy(10_000)
  expect(attempts).toEqual([100, 300, 650, 1000, 1100, 1300])
  expect(reopening.atMs).toBeUndefined()
})

it('has one attempt booked at a time, and none when it was cancelled', () => {
  const clock = virtualClock()
  let count = 0
  const reopening = createReopening(clock, { first: 100, longest: 1000 }, () => count++)
  reopening.later()
  reopening.later()
  clock.advanceBy(5000)
  expect(count).toBe(1)
  reopening.later()
  reopening.cancel()
  expect(reopening.atMs).toBeUndefined()
  clock.advanceBy(5000)
  expect(count).toBe(1)
})
