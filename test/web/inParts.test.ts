import { expect, it } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { inParts } from '../../src/web/inParts.js'

it('what takes long lets others have their turn, and comes in its order', async () => {
  const clock = virtualClock()
  const happened: string[] = []
  const numbers = Array.from({ length: 25 }, (_, index) => index)
  const result = inParts(numbers, 10, clock, (number) => {
    if (number % 10 === 0) {
      happened.push(`part from ${number}`)
      clock.at(clock.monotonicMs(), () => happened.push('another'))
    }
    return number % 2 === 0 ? [number] : []
  })
  await clock.advanceToAsync(10)
  expect(await result).toEqual(numbers.filter((number) => number % 2 === 0))
  expect(happened).toEqual([
    ...['part from 0', 'another', 'part from 10', 'another', 'part from 20', 'another'],
  ])
})
