import { expect, it } from 'vitest'
import { shortNumbers } from '../../src/node/shortNumbers.js'

it('knows 2,000 stations; of one more, the one that was silent longest is forgotten', () => {
  const short = shortNumbers()
  for (let count = 0; count < 2_000; count++) short.note(`Q${count}`, true)
  short.note('Q0', true)
  expect([short.has('Q0'), short.has('Q1')]).toEqual([true, true])
  short.note('Q2000', true)
  expect([short.has('Q0'), short.has('Q1'), short.has('Q2')]).toEqual([true, false, true])
})

it('forgets a station that sends without', () => {
  const short = shortNumbers()
  short.note('Q0AAA', true)
  short.note('Q0AAA', false)
  expect(short.has('Q0AAA')).toBe(false)
})
