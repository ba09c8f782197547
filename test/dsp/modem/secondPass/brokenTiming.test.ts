// Timing with one jump in it, against least squares tried at every place.
import { describe, expect, it } from 'vitest'
import { gaussian } from '../../../../dsp/channel/gaussian.js'
import { type BrokenTiming, brokenTiming } from '../../../../dsp/modem/secondPass/brokenTiming.js'
import { createSymbolRun } from '../../../../dsp/modem/sequence/toneCorrelations.js'
import { seededRandom } from '../../../../src/runtime/random.js'

/** @param positions of symbols, which stand in a ring from symbol 1000 of 1024 on */
function timingOf(positions: readonly number[]): BrokenTiming | undefined {
  const mask = 1023
  const firstSymbol = 5 * 1024 + 1000
  const run = createSymbolRun(mask + 1)
  run.startSample.fill(Number.NaN)
  positions.forEach((position, k) => {
    run.startSample[(firstSymbol + k) & mask] = position
  })
  return brokenTiming({
    ...{ run, mask, firstSymbol, symbolCount: positions.length, tones: new Uint8Array(mask + 1) },
    ...{ markStep: 0, spaceStep: 0, startsWithSignal: false },
  })
}

const broken = (count: number, at: number, jump: number, length = 10.002): number[] =>
  Array.from({ length: count }, (_, k) => 700.25 + length * k + (k >= at ? jump : 0))

/** Squares left by the columns' best fit: they are made orthogonal one after the other. */
function squaresLeft(positions: readonly number[], columns: readonly number[][]): number {
  const dot = (a: readonly number[], b: readonly number[]): number =>
    a.reduce((sum, x, k) => sum + x * b[k]!, 0)
  const without = (a: readonly number[], b: readonly number[]): number[] => {
    const share = dot(a, b) / dot(b, b)
    return a.map((x, k) => x - share * b[k]!)
  }
  const orthogonal: number[][] = []
  for (const column of columns) orthogonal.push(orthogonal.reduce(without, [...column]))
  const rest = orthogonal.reduce(without, [...positions])
  return dot(rest, rest)
}

describe('a jump', () => {
  it.each([
    [200, 60, -13],
    [200, 150, 4.5],
    [200, 32, -2],
    [200, 168, -2],
    [64, 32, 0.701],
    [900, 500, -0.701],
  ])('of %i symbols, at %i, of %f samples: found with both lines', (count, at, jump) => {
    const found = timingOf(broken(count, at, jump))!
    expect(found.at).toBe(at)
    expect(found.jump).toBeCloseTo(jump, 8)
    expect(found.start).toBeCloseTo(700.25, 7)
    expect(found.length).toBeCloseTo(10.002, 9)
  })

  it.each([0.699, -0.699, 0])('of %f samples is none', (jump) => {
    expect(timingOf(broken(200, 100, jump))).toBeUndefined()
  })

  it('needs 32 symbols on either side', () => {
    expect(timingOf(broken(63, 31, -5))).toBeUndefined()
    expect(timingOf(broken(200, 31, -5))?.at).toBe(32)
    expect(timingOf(broken(200, 169, -5))?.at).toBe(168)
    // Of one so near to the end hardly anything is left beside a straight line.
    expect(timingOf(broken(200, 5, -5))).toBeUndefined()
  })

  it('other symbol rates are no jump', () => {
    expect(timingOf(broken(300, 0, 0, 10.1))).toBeUndefined()
    expect(timingOf(broken(300, 0, 0, 9.9))).toBeUndefined()
  })
})

it('noisy positions: the best place, and only where it explains 0.7 of what a line leaves', () => {
  const seen = { found: 0, unexplained: 0, small: 0 }
  for (let seed = 1; seed <= 40; seed++) {
    const random = seededRandom(seed)
    const noise = gaussian(random)
    const count = 64 + Math.floor(60 * random())
    const level = 1.2 * random()
    const positions = broken(count, 32 + Math.floor((count - 64) * random()), 8 * random() - 4).map(
      (position) => position + level * noise(),
    )
    const ones = positions.map(() => 1)
    const line = [ones, positions.map((_, k) => k)]
    const left = squaresLeft(positions, line)
    let best = { squares: left, at: 0 }
    for (let at = 32; at <= count - 32; at++) {
      const squares = squaresLeft(positions, [...line, positions.map((_, k) => (k >= at ? 1 : 0))])
      if (squares < best.squares) best = { squares, at }
    }
    const found = timingOf(positions)
    if (best.squares > 0.3 * left) {
      expect(found, `seed ${seed}`).toBeUndefined()
      seen.unexplained++
    } else if (found === undefined) seen.small++
    else {
      seen.found++
      expect(found.at).toBe(best.at)
      const fitted = positions.map((_, k) => found.start + found.length * k)
      const rest = positions.map((p, k) => p - fitted[k]! - (k >= found.at ? found.jump : 0))
      expect(rest.reduce((sum, x) => sum + x * x, 0)).toBeCloseTo(best.squares, 6)
    }
  }
  expect(seen.found).toBeGreaterThan(8)
  expect(seen.unexplained).toBeGreaterThan(5)
  expect(seen.small).toBeLessThan(10)
})
