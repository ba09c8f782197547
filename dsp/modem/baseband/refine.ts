// A second look at a damaged segment: the audio is bent by the radios that it went through, and the filter of the first pass knows
// nothing of that. With the bits decided so far, a filter w over the outputs of the matched filter, two to a bit, and a short
// remainder b are fitted together, so that
//     sum_m w[m] y(t[k] + m/2) + offset  =  a[k] + b[1] a[k-1] + b[2] a[k-2] + e[k],   mean e^2 least
// which whitens the noise, takes out what bends the signal, and leaves a trellis of four states to decide on.
// Sources: D. D. Falconer and F. R. Magee, Adaptive Channel Memory Truncation for Maximum Likelihood Sequence Estimation, Bell Syst.
// Tech. J. 52, 1973; N. Seshadri and C.-E. W. Sundberg, List Viterbi Decoding Algorithms with Applications, IEEE Trans. Commun. 42,
// 1994, for the runners-up.

import { solveSymmetric } from './leastSquares.js'

/** Half bits to each side that the filter reaches. */
export const reach = 5
const filterTaps = 2 * reach + 1
/** Bits before a bit that are left in it. */
const memory = 2
const unknowns = filterTaps + 1 + memory
/** Where in the unknowns they stand. */
const offsetAt = filterTaps
const memoryAt = filterTaps + 1

/** A segment under a second look. */
export interface Refinement {
  /** levels decided on, 1 above; the best path once refined */
  readonly bits: Uint8Array
  /** mean square of e */
  readonly residual: number
  /** ways to depart from the best path, cheapest first; cost in natural logarithm of the likelihood */
  readonly departures: readonly Departure[]
  /** The path that departs there. @returns undefined where two departures exclude each other */
  trace(departAt: readonly number[], into: Uint8Array): boolean
}

export interface Departure {
  readonly bit: number
  readonly cost: number
}

/**
 * @param filtered outputs of the matched filter at each bit's middle and half a bit after it, from `reach` half bits before the
 *   first bit on: bit k's middle is at `2 k + reach`
 * @param guess levels as decided so far
 * @param rounds how often it is fitted and decided again
 */
export function refine(filtered: Float64Array, guess: Uint8Array, rounds = 2): Refinement {
  const count = guess.length
  const bits = guess.slice()
  const differences = new Float64Array(count * stateCount)
  const choices = new Uint8Array(count)
  const scale = 1 / Math.max(1e-9, rms(filtered))
  let residual = 1
  let lastState = 0
  for (let round = 0; round < rounds; round++) {
    const fitted = fitFilter(filtered, bits, scale)
    residual = fitted.residual
    lastState = decide(filtered, fitted.solution, scale, count, differences, choices)
    traceBack(choices, lastState, count, [], bits)
  }
  const toNepers = 1 / (2 * Math.max(residual, 1e-6))
  const departures: Departure[] = []
  let state = lastState
  for (let bit = count - 1; bit > memory; bit--) {
    departures.push({ bit, cost: differences[bit * stateCount + state]! * toNepers })
    state = (state >> 1) | ((choices[bit]! >> state) & 1 ? 2 : 0)
  }
  departures.sort((a, b) => a.cost - b.cost)
  return {
    ...{ bits, residual, departures },
    trace: (departAt, into) => traceBack(choices, lastState, count, departAt, into, bits),
  }
}

const stateCount = 4

const rms = (values: Float64Array): number => {
  let sum = 0
  for (const value of values) sum += value * value
  return Math.sqrt(sum / Math.max(1, values.length))
}

/** Least squares by normal equations; drawn to 0 a little, since short segments do not tell all of it. */
function fitFilter(
  filtered: Float64Array,
  bits: Uint8Array,
  scale: number,
): { readonly solution: Float64Array; readonly residual: number } {
  const matrix = new Float64Array(unknowns * unknowns)
  const right = new Float64Array(unknowns)
  const row = new Float64Array(unknowns)
  const rows = Math.max(1, bits.length - memory)
  for (let bit = memory; bit < bits.length; bit++) {
    for (let tap = 0; tap < filterTaps; tap++) row[tap] = filtered[2 * bit + tap]! * scale
    row[offsetAt] = 1
    for (let before = 1; before <= memory; before++)
      row[memoryAt + before - 1] = 1 - 2 * bits[bit - before]!
    const wanted = 2 * bits[bit]! - 1
    for (let i = 0; i < unknowns; i++) {
      const factor = row[i]!
      right[i]! += factor * wanted
      for (let j = i; j < unknowns; j++) matrix[i * unknowns + j]! += factor * row[j]!
    }
  }
  for (let i = 0; i < unknowns; i++) matrix[i * unknowns + i]! += ridge * rows
  const solution = solveSymmetric(matrix, right)
  let explained = 0
  for (let i = 0; i < unknowns; i++) explained += solution[i]! * right[i]!
  return { solution, residual: Math.max(0.001, 1 - explained / rows) }
}

const ridge = 0.003

/** Viterbi's algorithm. @returns the state of the best path's end */
function decide(
  filtered: Float64Array,
  solution: Float64Array,
  scale: number,
  count: number,
  differences: Float64Array,
  choices: Uint8Array,
): number {
  let cost = new Float64Array(stateCount)
  let next = new Float64Array(stateCount)
  const levels = Float64Array.from({ length: 2 * stateCount }, (_, at) => {
    const [bit, before, earlier] = [at & 1, (at >> 1) & 1, (at >> 2) & 1]
    const sign = (level: number): number => 2 * level - 1
    return sign(bit) + sign(before) * solution[memoryAt]! + sign(earlier) * solution[memoryAt + 1]!
  })
  for (let bit = 0; bit < count; bit++) {
    let y = solution[offsetAt]!
    for (let tap = 0; tap < filterTaps; tap++)
      y += solution[tap]! * filtered[2 * bit + tap]! * scale
    let chosen = 0
    for (let state = 0; state < stateCount; state++) {
      const error0 = y - levels[state]!
      const error1 = y - levels[state | stateCount]!
      const cost0 = cost[state >> 1]! + error0 * error0
      const cost1 = cost[(state >> 1) | 2]! + error1 * error1
      if (cost1 < cost0) chosen |= 1 << state
      differences[bit * stateCount + state] = Math.abs(cost1 - cost0)
      next[state] = Math.min(cost0, cost1)
    }
    choices[bit] = chosen
    const swap = cost
    cost = next
    next = swap
  }
  let best = 0
  for (let state = 1; state < stateCount; state++) if (cost[state]! < cost[best]!) best = state
  return best
}

/**
 * @param departAt bits at which the worse of two ways is taken
 * @param best the best path, which all of them must lie on
 * @returns false where one of them does not
 */
function traceBack(
  choices: Uint8Array,
  lastState: number,
  count: number,
  departAt: readonly number[],
  into: Uint8Array,
  best?: Uint8Array,
): boolean {
  let state = lastState
  for (let bit = count - 1; bit >= 0; bit--) {
    into[bit] = state & 1
    let upper = (choices[bit]! >> state) & 1
    if (departAt.includes(bit)) {
      if (best !== undefined && !isOn(best, bit, state)) return false
      upper ^= 1
    }
    state = (state >> 1) | (upper << 1)
  }
  return true
}

const isOn = (best: Uint8Array, bit: number, state: number): boolean =>
  (state & 1) === best[bit]! && state >> 1 === best[bit - 1]!
