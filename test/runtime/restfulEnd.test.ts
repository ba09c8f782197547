import { describe, expect, it } from 'vitest'
import type { Clock } from '../../src/runtime/clock.js'
import { restfulEnd } from '../../src/runtime/restfulEnd.js'

/** A clock whose waits are over at once, and how long they were in all. */
function hastyClock(): { clock: Clock; nowMs: () => number } {
  let now = 0
  const clock: Clock = {
    monotonicMs: () => now,
    wallMs: () => now,
    at(atMs, run) {
      now = Math.max(now, atMs)
      queueMicrotask(run)
      return () => {}
    },
  }
  return { clock, nowMs: () => now }
}

describe('the end of a command', () => {
  it('comes when the process has used nothing in two looks of 20 ms', async () => {
    const { clock, nowMs } = hastyClock()
    await restfulEnd(clock, () => 500 + 0.01 * nowMs())
    expect(nowMs()).toBe(40)
  })

  it('waits while helper threads are at work', async () => {
    const { clock, nowMs } = hastyClock()
    // One of them until 130 ms; the look from 120 to 140 ms still finds it.
    await restfulEnd(clock, () => Math.min(nowMs(), 130))
    expect(nowMs()).toBe(180)
  })

  it('gives up after a second', async () => {
    const { clock, nowMs } = hastyClock()
    await restfulEnd(clock, () => nowMs())
    expect(nowMs()).toBe(1000)
  })
})
