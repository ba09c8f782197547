import { expect, it } from 'vitest'
import { recently } from '../../../src/node/digipeater/recently.js'

it('a name is there for its time, which does not begin anew', () => {
  const names = recently(1_000)
  expect(names.has('a', 0)).toBe(false)
  names.note('a', 100)
  names.note('a', 900)
  expect([names.has('a', 100), names.has('a', 1_099), names.has('a', 1_100)]).toEqual([
    ...[true, true, false],
  ])
  names.note('a', 1_100)
  expect(names.has('a', 2_099)).toBe(true)
})

it('beyond 2000 names the first is forgotten', () => {
  const names = recently(1_000)
  for (let n = 1; n <= 2_000; n++) names.note(`${n}`, 0)
  expect(names.has('1', 1)).toBe(true)
  names.note('2001', 0)
  expect([names.has('1', 1), names.has('2', 1), names.has('2001', 1)]).toEqual([false, true, true])
})
