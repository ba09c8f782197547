// A second look at some bits, against the definition: the filter by equations of its own, and every sequence there is.
import { describe, expect, it } from 'vitest'
import { gaussian } from '../../../../dsp/channel/gaussian.js'
import { solveSymmetric } from '../../../../dsp/modem/baseband/leastSquares.js'
import { reach, refine } from '../../../../dsp/modem/baseband/refine.js'
import { seededRandom } from '../../../../src/runtime/random.js'

const bitCount = 12
/** Eleven half bits of filter, the offset, what two bits leave. */
const unknowns = 14

const randomBits = (count: number, seed: number): Uint8Array => {
  const random = seededRandom(seed)
  return Uint8Array.from({ length: count }, () => Math.floor(2 * random()))
}
const level = (bit: number): number => 2 * bit - 1

/** Outputs of the filter: bits of height 3 over an offset, that leave something in the next two, and noise. */
function outputs(bits: Uint8Array, noise: number, seed: number, offset = 0.5): Float64Array {
  const draw = gaussian(seededRandom(seed))
  const filtered = new Float64Array(2 * bits.length + 2 * reach)
  for (let at = 0; at < filtered.length; at++) filtered[at] = noise * draw()
  bits.forEach((bit, k) => {
    const left = 0.6 * level(bits[k - 1] ?? 1) - 0.3 * level(bits[k - 2] ?? 1)
    filtered[2 * k + reach]! += 3 * (level(bit) + left) + offset
  })
  return filtered
}

/** By its equations, one for each bit from the third on, in outputs whose mean square is 1. */
function fitted(filtered: Float64Array, bits: Uint8Array) {
  const size = Math.sqrt(filtered.reduce((sum, y) => sum + y * y, 0) / filtered.length)
  const heard = filtered.map((y) => y / size)
  const rows = [...bits.keys()]
    .slice(2)
    .map((k) => [
      ...heard.subarray(2 * k, 2 * k + 11),
      ...[1, -level(bits[k - 1]!), -level(bits[k - 2]!)],
    ])
  const wanted = [...bits].slice(2).map(level)
  const matrix = Float64Array.from({ length: unknowns ** 2 }, (_, at) => {
    const [i, j] = [Math.floor(at / unknowns), at % unknowns]
    const sum = rows.reduce((all, row) => all + row[i]! * row[j]!, 0)
    // Drawn to 0 by 0.003 of each equation.
    return i === j ? sum + 0.003 * rows.length : sum
  })
  const right = Float64Array.from({ length: unknowns }, (_, i) =>
    rows.reduce((sum, row, n) => sum + row[i]! * wanted[n]!, 0),
  )
  const solution = solveSymmetric(matrix, right)
  const errors = rows.map(
    (row, n) => row.reduce((sum, value, i) => sum + value * solution[i]!, 0) - wanted[n]!,
  )
  const drawn = 0.003 * solution.reduce((sum, value) => sum + value * value, 0)
  return {
    /** what the drawing adds is counted with it */
    residual: errors.reduce((sum, error) => sum + error * error, 0) / rows.length + drawn,
    /** what the filter hands out for each bit */
    y: Array.from(
      bits,
      (_, k) =>
        solution[11]! +
        heard
          .subarray(2 * k, 2 * k + 11)
          .reduce((sum, value, tap) => sum + value * solution[tap]!, 0),
    ),
    after: [solution[12]!, solution[13]!] as const,
  }
}

/** Every sequence's sum of squared errors, at its number; the two bits before it are those that suit it best. */
function costs({ y, after }: ReturnType<typeof fitted>): Float64Array {
  const all = new Float64Array(2 ** y.length).fill(Number.POSITIVE_INFINITY)
  for (let number = 0; number < 2 ** (y.length + 2); number++) {
    let sum = 0
    for (let k = 0; k < y.length; k++) {
      const [a, b, c] = [2, 1, 0].map((at) => level((number >> (k + at)) & 1))
      sum += (y[k]! - a! - after[0] * b! - after[1] * c!) ** 2
    }
    all[number >> 2] = Math.min(all[number >> 2]!, sum)
  }
  return all
}

const bitsOf = (number: number): number[] =>
  Array.from({ length: bitCount }, (_, k) => (number >> k) & 1)

/** The cheapest of those that end like another one, from bit `bit - 1` on, with the bit before that turned round. */
function cheapest(all: Float64Array, best: number, bit: number): number {
  const wanted = (best ^ (1 << (bit - 2))) >> (bit - 2)
  let found = -1
  for (let number = 0; number < all.length; number++)
    if (number >> (bit - 2) === wanted && (found < 0 || all[number]! < all[found]!)) found = number
  return found
}

describe.each([1, 2, 3, 4])('twelve bits in noise, seed %i', (seed) => {
  const sent = randomBits(bitCount, seed)
  const guess = sent.slice()
  guess[4]! ^= 1
  const filtered = outputs(sent, 1.2, seed + 10)
  const fit = fitted(filtered, guess)
  const all = costs(fit)
  const best = all.indexOf(Math.min(...all))
  const refined = () => refine(filtered, guess, 1)
  /** from the fourth bit on, by bit */
  const departed = new Map(
    Array.from({ length: bitCount - 3 }, (_, n) => [n + 3, cheapest(all, best, n + 3)]),
  )

  it('are decided as the likeliest of all sequences', () => {
    const { bits, residual } = refined()
    expect([...bits]).toEqual(bitsOf(best))
    expect(residual).toBeCloseTo(fit.residual, 9)
  })

  it('the cheapest departure from it comes first, in units of the likelihood', () => {
    const expected = [...departed]
      .map(([bit, number]) => ({ bit, cost: (all[number]! - all[best]!) / (2 * fit.residual) }))
      .sort((a, b) => a.cost - b.cost)
    const { departures } = refined()
    expect(departures.map(({ bit }) => bit)).toEqual(expected.map(({ bit }) => bit))
    departures.forEach(({ cost }, at) => {
      expect(cost).toBeCloseTo(expected[at]!.cost, 6)
    })
  })

  it('each can be traced', () => {
    const path = new Uint8Array(bitCount)
    const { trace } = refined()
    for (const [bit, number] of departed) {
      expect(trace([bit], path)).toBe(true)
      expect([...path]).toEqual(bitsOf(number))
    }
  })

  it('two can be where the later one has come back to the likeliest way', () => {
    const path = new Uint8Array(bitCount)
    const { trace } = refined()
    const right = bitsOf(best)
    let excluded = 0
    for (const [late, lateNumber] of departed)
      for (const [early, earlyNumber] of departed) {
        if (early >= late) continue
        const [lateBits, earlyBits] = [bitsOf(lateNumber), bitsOf(earlyNumber)]
        const isBack = [early, early - 1].every((bit) => lateBits[bit] === right[bit])
        expect(trace([early, late], path)).toBe(isBack)
        if (!isBack) excluded++
        else
          expect([...path]).toEqual([
            ...earlyBits.slice(0, early - 1),
            ...lateBits.slice(early - 1),
          ])
      }
    expect(excluded).toBeGreaterThan(0)
  })
})

describe('rounds', () => {
  const sent = randomBits(300, 5)
  const filtered = outputs(sent, 0.9, 6)
  const guess = sent.map((bit, k) => (k % 5 === 0 ? bit ^ 1 : bit))

  it('each fits and decides anew, two unless it is told otherwise; the guess stays as it is', () => {
    const before = guess.slice()
    const once = refine(filtered, guess, 1)
    const twice = refine(filtered, once.bits, 1)
    const asIs = refine(filtered, guess)
    expect(once.bits).not.toEqual(guess)
    expect(asIs.residual).toBe(twice.residual)
    expect(asIs.residual).toBeLessThan(once.residual)
    expect(asIs.bits).toEqual(twice.bits)
    expect(asIs.departures).toEqual(twice.departures)
    expect(guess).toEqual(before)
  })

  it('where every fifth bit was wrong, none is', () => {
    expect(refine(outputs(sent, 0.3, 6), guess).bits).toEqual(sent)
  })

  it.each([1e-6, 1000])('%f times as loud they decide the same', (factor) => {
    const loud = refine(
      filtered.map((y) => factor * y),
      guess,
    )
    const asIs = refine(filtered, guess)
    expect(loud.bits).toEqual(asIs.bits)
    expect(loud.residual).toBeCloseTo(asIs.residual, 9)
  })
})

describe('little to go by', () => {
  it.each([0, 1, 2, 3])('%i bits have no way to depart from', (count) => {
    const refined = refine(outputs(randomBits(count, 1), 0.1, 1), randomBits(count, 1))
    expect(refined.bits).toHaveLength(count)
    expect(refined.departures).toEqual([])
    expect(refined.residual).toBeLessThanOrEqual(1)
  })

  it('four have one', () => {
    const refined = refine(outputs(randomBits(4, 1), 0.1, 1), randomBits(4, 1))
    expect(refined.departures.map(({ bit }) => bit)).toEqual([3])
  })

  it('silence gives numbers', () => {
    const refined = refine(new Float64Array(2 * 20 + 2 * reach), randomBits(20, 2))
    expect(refined.departures.every(({ cost }) => cost >= 0)).toBe(true)
    expect(refined.residual).toBeLessThanOrEqual(1)
  })

  // All outputs alike: 14 unknowns share what tells the bits, and the remainder is below 0.003 / 14.
  it('no remainder is less than a thousandth', () => {
    const ones = new Uint8Array(20).fill(1)
    expect(refine(new Float64Array(2 * 20 + 2 * reach).fill(0.2), ones).residual).toBe(0.001)
  })
})
