import { expect, it } from 'vitest'
import { quietEvents } from '../../src/runtime/quietEvents.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

it('tells one of a kind in ten seconds, and how many it left out', () => {
  const clock = virtualClock()
  const told: string[] = []
  const tell = quietEvents(clock, (text) => told.push(text))
  for (let count = 0; count < 1000; count++) {
    tell('refused', `refused ${count}`)
    if (count === 500) tell('other', 'something else')
    clock.advanceBy(15)
  }
  // 15 s: at 0 ms and at 10,005 ms, which is the 668th
  expect(told).toEqual(['refused 0', 'something else', 'refused 667 (and 666 like it before)'])
  clock.advanceBy(20_000)
  tell('other', 'again')
  expect(told.at(-1)).toBe('again')
})
