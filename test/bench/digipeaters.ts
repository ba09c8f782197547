import { runValley, type ValleyOptions, type ValleyResult } from '../simulation/digipeaterValley.js'
import type { Bench } from './bench.js'

const kinds: readonly (readonly [string, Partial<ValleyOptions>])[] = [
  ['nobody repeats', { repeating: 'none' }],
  ['at once', { repeating: 'at once' }],
  ['waits, one is enough', { repeating: 'waiting', othersEnough: 1 }],
  ['waits, two are enough', { repeating: 'waiting', othersEnough: 2 }],
]

/** Reach, and what it costs, of five digipeaters at random places, 20 % of all frames lost. */
export const bench: Bench = {
  name: 'digipeaters',
  about:
    'five digipeaters at random places: who is reached, load of the channel and of each, copies',
  async run({ seed, quick }) {
    const placings = quick ? 20 : 100
    console.log(`${placings} random placings, 100 frames each, 12 stations, WIDE1-1,WIDE2-1`)
    console.log(
      'digipeaters             reached %  channel %  frames repeated   each digipeater %, busiest first',
    )
    const reached: number[] = []
    for (const [name, options] of kinds) {
      const results: ValleyResult[] = []
      for (let at = 0; at < placings; at++)
        results.push(
          await runValley({ frameCount: 100, repeating: 'at once', ...options, seed: seed + at }),
        )
      const mean = (of: (one: ValleyResult) => number): number =>
        results.reduce((sum, one) => sum + of(one), 0) / results.length
      const cells: [string, number][] = [
        [(100 * mean((one) => one.reachShare)).toFixed(1), 11],
        [(100 * mean((one) => one.loadShare)).toFixed(1), 11],
        [mean((one) => one.repeatedCount).toFixed(0), 17],
      ]
      const each = results[0]!.digipeaterShares.map((_, rank) =>
        (100 * mean((one) => busiestFirst(one.digipeaterShares)[rank]!)).toFixed(1),
      )
      const figures = cells.map(([text, width]) => text.padStart(width)).join('')
      console.log(`${name.padEnd(22)}${figures}   ${each.join('  ')}`)
      reached.push(100 * mean((one) => one.reachShare))
    }
    const [, atOnce, , waiting] = reached
    if (atOnce! - waiting! > reachLostMax) {
      console.log(`waiting for two reaches ${(atOnce! - waiting!).toFixed(1)} % fewer than at once`)
      process.exitCode = 1
    }
    await loops(seed, quick ? 2000 : 10_000)
  },
}

/** Who waits for others may reach so much less, percent of all. */
const reachLostMax = 2

const busiestFirst = (shares: readonly number[]): number[] => [...shares].sort((a, b) => b - a)

/** A ring, in which each frame comes back. */
async function loops(seed: number, frameCount: number): Promise<void> {
  const repeated = { frames: 0, twice: 0 }
  for (let at = 0; at < frameCount / 100; at++) {
    const result = await runValley({
      ...{ seed: seed + at, ring: true, path: 'WIDE2-2', frameCount: 100, repeating: 'at once' },
    })
    for (const list of result.repeats) {
      repeated.frames += list.length
      repeated.twice += list.length - new Set(list.map(({ key }) => key)).size
    }
  }
  if (repeated.twice > 0) process.exitCode = 1
  console.log(
    `ring of five, ${frameCount} frames by WIDE2-2: ${repeated.frames} repeats, ${repeated.twice} of them by one that had repeated the frame before`,
  )
}
