import { expect, it } from 'vitest'
import { emailWaits } from '../../../src/node/email/emailWaits.js'
import { virtualClock } from '../../../src/runtime/virtualClock.js'

const waitsOf = () => {
  const clock = virtualClock()
  clock.advanceTo(1_000)
  return { clock, waits: emailWaits(clock, { retryMs: 100, retryMaxMs: 350 }) }
}

it('each wait of a mail is twice the last, up to the longest; another mail begins with the first', () => {
  const { waits } = waitsOf()
  expect([1, 2, 3, 4].map(() => waits.wait(7))).toEqual([100, 200, 350, 350])
  expect(waits.wait(8)).toBe(100)
  waits.forget(7)
  expect(waits.wait(7)).toBe(100)
})

it('a mail is due before it waited, and when its wait is over', () => {
  const { clock, waits } = waitsOf()
  expect(waits.isDue(7)).toBe(true)
  waits.wait(7)
  expect([waits.isDue(7), waits.isDue(8), waits.isLinkDue()]).toEqual([false, true, true])
  clock.advanceTo(1_099)
  expect(waits.isDue(7)).toBe(false)
  clock.advanceTo(1_100)
  expect(waits.isDue(7)).toBe(true)
  waits.wait(7)
  waits.forget(7)
  expect(waits.isDue(7)).toBe(true)
})

it('the link waits likewise, until it is there', () => {
  const { clock, waits } = waitsOf()
  expect(waits.isLinkDue()).toBe(true)
  expect([1, 2, 3, 4].map(() => waits.waitForLink())).toEqual([100, 200, 350, 350])
  expect([waits.isLinkDue(), waits.isDue(7)]).toEqual([false, true])
  clock.advanceTo(1_350)
  expect(waits.isLinkDue()).toBe(true)
  waits.waitForLink()
  waits.linkIsThere()
  expect(waits.isLinkDue()).toBe(true)
  expect(waits.waitForLink()).toBe(100)
})

it('the next time is the first of all waits that are not over', () => {
  const { clock, waits } = waitsOf()
  expect(waits.nextMs()).toBe(Number.POSITIVE_INFINITY)
  waits.waitForLink()
  waits.waitForLink()
  expect(waits.nextMs()).toBe(1_200)
  waits.wait(7)
  expect(waits.nextMs()).toBe(1_100)
  clock.advanceTo(1_100)
  expect(waits.nextMs()).toBe(1_200)
  waits.linkIsThere()
  expect(waits.nextMs()).toBe(Number.POSITIVE_INFINITY)
})
