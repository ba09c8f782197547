import { describe, expect, it } from 'vitest'
import { createPersistence } from '../../src/radio/persistence.js'

const access = { slotTimeMs: 100, persistence: 127 }
/** Draws that are won (0) or lost (1), one after the other; how many are left is known. */
function drawing(...draws: number[]) {
  const persistence = createPersistence(() => 0.99 * draws.shift()!)
  const ask = (nowMs: number, isBusy = false): boolean => persistence.ask(nowMs, isBusy, access)
  return { persistence, ask, left: () => draws.length }
}

describe('a draw for the channel', () => {
  it('is not made before the moment that was named, whatever was forgotten since', () => {
    const { persistence, ask, left } = drawing(0)
    persistence.waitUntil(500)
    persistence.reset()
    expect([ask(499), left(), persistence.nextAtMs()]).toEqual([false, 1, 500])
    expect([ask(500), left()]).toEqual([true, 0])
  })

  it('that was lost is followed by the next a slot later, or after that moment', () => {
    const { persistence, ask, left } = drawing(1, 0)
    expect([ask(0), persistence.nextAtMs()]).toEqual([false, 100])
    persistence.waitUntil(250)
    expect(persistence.nextAtMs()).toBe(250)
    expect([ask(100), ask(249), left()]).toEqual([false, false, 1])
    expect(ask(250)).toBe(true)
  })

  it('is not made while somebody sends, and no slot is waited for after that', () => {
    const { persistence, ask, left } = drawing(0)
    expect([ask(0, true), left()]).toEqual([false, 1])
    expect(persistence.nextAtMs()).toBe(Number.NEGATIVE_INFINITY)
    expect(ask(1)).toBe(true)
  })

  it('is made at once where the slot of a lost one was forgotten', () => {
    const { persistence, ask } = drawing(1, 0)
    ask(0)
    persistence.reset()
    expect(persistence.nextAtMs()).toBe(Number.NEGATIVE_INFINITY)
    expect(ask(10)).toBe(true)
  })
})
