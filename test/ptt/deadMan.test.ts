import { describe, expect, it } from 'vitest'
import { createDeadMan } from '../../src/ptt/deadMan.js'
import type { HelperWord } from '../../src/ptt/helperProtocol.js'
import type { PttOutput } from '../../src/ptt/pttOutput.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

function bench(output: Partial<PttOutput> = {}) {
  const clock = virtualClock()
  const edges: [number, string][] = []
  const words: HelperWord[] = []
  const deadMan = createDeadMan({
    output: {
      name: 'bench',
      key: () => void edges.push([clock.monotonicMs(), 'on']),
      unkey: () => void edges.push([clock.monotonicMs(), 'off']),
      close: async () => {},
      ...output,
    },
    clock,
    feedLimitMs: 150,
    keyedMsMax: 8000,
    afterPending: (run) => run(),
    tell: (word) => words.push(word),
  })
  const feedUntil = async (untilMs: number): Promise<void> => {
    while (clock.monotonicMs() < untilMs) {
      deadMan.feed()
      await clock.advanceToAsync(Math.min(untilMs, clock.monotonicMs() + 50))
    }
  }
  return { clock, deadMan, edges, words, feedUntil }
}

describe('dead-man', () => {
  it('holds the line while it is fed, and releases it when it is told', async () => {
    const { clock, deadMan, edges, feedUntil } = bench()
    deadMan.key(0)
    await feedUntil(3000)
    deadMan.unkey()
    await clock.advanceToAsync(10_000)
    expect(edges).toEqual([
      [0, 'on'],
      [3000, 'off'],
    ])
  })

  it('releases it 150 ms after the last sign of life, and says why', async () => {
    const { clock, deadMan, edges, words, feedUntil } = bench()
    deadMan.key(0)
    await feedUntil(1000)
    await clock.advanceToAsync(5000)
    // fed at 950 for the last time
    expect(edges).toEqual([
      [0, 'on'],
      [1100, 'off'],
    ])
    expect(words.at(-1)).toEqual({
      word: 'cut',
      atMs: 1100,
      reason: 'no sign of life for 150 ms',
      cutCount: 1,
    })
  })

  it('releases it at the longest time allowed, however well it is fed', async () => {
    const { deadMan, edges, feedUntil } = bench()
    deadMan.key(0)
    await feedUntil(20_000)
    expect(edges).toEqual([
      [0, 'on'],
      [8000, 'off'],
    ])
  })

  it('can be keyed again after it acted, by who has heard of it', async () => {
    const { clock, deadMan, edges, words } = bench()
    deadMan.key(0)
    await clock.advanceToAsync(1000)
    // It hung, and what it had in mind before it hung comes first: of the cut it will hear later.
    deadMan.key(0)
    await clock.advanceToAsync(1000)
    expect(words.map(({ word }) => word)).toEqual(['keyed', 'cut', 'refused'])
    deadMan.key(1)
    await clock.advanceToAsync(1100)
    deadMan.unkey()
    await clock.advanceToAsync(2000)
    expect(edges.map(([atMs]) => atMs)).toEqual([0, 150, 1000, 1100])
  })

  it('counts a cut once, though the line was slow to go off and its owner unkeyed meanwhile', async () => {
    let failuresLeft = 2
    const { clock, deadMan, words } = bench({
      unkey: () => {
        if (failuresLeft-- > 0) throw new Error('device gone')
      },
    })
    deadMan.key(0)
    await clock.advanceToAsync(160)
    deadMan.unkey()
    await clock.advanceToAsync(1000)
    expect(words.at(-1)).toMatchObject({ word: 'unkeyed', cutCount: 1 })
    deadMan.key(1)
    await clock.advanceToAsync(1001)
    expect(words.at(-1)).toMatchObject({ word: 'keyed' })
  })

  it('goes on trying to release a line that fails', async () => {
    let failuresLeft = 3
    const off: number[] = []
    const { clock, deadMan, words } = bench({
      unkey: () => {
        if (failuresLeft-- > 0) throw new Error('device gone')
        off.push(clock.monotonicMs())
      },
    })
    deadMan.key(0)
    await clock.advanceToAsync(100)
    deadMan.unkey()
    await clock.advanceToAsync(1000)
    // after 50, 100 and 200 ms; the same fault is told once
    expect(off).toEqual([450])
    expect(words.filter(({ word }) => word === 'fault')).toHaveLength(1)
  })

  it('releases a line whose key() is still under way, and does not tell it as keyed', async () => {
    const { clock, deadMan, edges, words } = bench({
      key: () =>
        new Promise<void>((resolve) => {
          clock.at(400, resolve)
        }),
    })
    deadMan.key(0)
    await clock.advanceToAsync(1000)
    expect(edges).toEqual([[150, 'off']])
    expect(words.map(({ word }) => word)).toEqual(['cut'])
  })

  it('never keys after its end', async () => {
    const { clock, deadMan, edges, words } = bench()
    await deadMan.end('the end')
    deadMan.key(0)
    await clock.advanceToAsync(1000)
    expect(edges).toEqual([[0, 'off']])
    expect(words.at(-1)).toMatchObject({ word: 'refused', reason: 'the helper has ended' })
  })
})
