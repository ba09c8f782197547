import { describe, expect, it } from 'vitest'
import { runValley, type ValleyResult } from './digipeaterValley.js'

/** Times of each content, by digipeater. */
const timesOf = ({ repeats }: ValleyResult): number[][] =>
  repeats.flatMap((list) => {
    const times = new Map<string, number[]>()
    for (const { key, atMs } of list) times.set(key, [...(times.get(key) ?? []), atMs])
    return [...times.values()]
  })

describe('five digipeaters', () => {
  // 2,000 frames here; `npm run bench -- digipeaters --full` sends 10,000
  it.each([
    ['at random places', false, 'WIDE1-1,WIDE2-1'],
    ['in a ring, where frames come back', true, 'WIDE2-2'],
  ])('%s: no frame is repeated twice by one', async (_, ring, path) => {
    let repeats = 0
    for (let seed = 1; seed <= 10; seed++) {
      const result = await runValley({ seed, ring, path, frameCount: 100, repeating: 'at once' })
      for (const times of timesOf(result)) expect(times).toHaveLength(1)
      repeats += result.repeatedCount
    }
    expect(repeats).toBeGreaterThan(1000)
  })

  it('waiting for others reaches as many, and sends less', async () => {
    const sum = { once: { reach: 0, load: 0 }, waiting: { reach: 0, load: 0 } }
    for (let seed = 1; seed <= 10; seed++) {
      const once = await runValley({ seed, frameCount: 60, repeating: 'at once' })
      const waiting = await runValley({ seed, frameCount: 60, repeating: 'waiting' })
      sum.once.reach += once.reachShare
      sum.once.load += once.loadShare
      sum.waiting.reach += waiting.reachShare
      sum.waiting.load += waiting.loadShare
    }
    expect(sum.waiting.reach).toBeGreaterThan(0.98 * sum.once.reach)
    expect(sum.waiting.load).toBeLessThan(sum.once.load)
  })
})
