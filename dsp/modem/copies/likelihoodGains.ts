// Where in a frame a copy likes another path better than the one that was decided on over all of them.
import { addGains, reach, stateCount, turnTable } from '../secondPass/branchGains.js'
import type { Burst } from '../secondPass/model.js'

/**
 * How much better a copy likes its own path than another one, in log-likelihood, by symbol.
 * @param path and own: tones of the copy; its phases go along its burst's tones
 */
export function likelihoodGains(burst: Burst, path: Uint8Array, own: Uint8Array): Float64Array {
  const gains = new Float64Array(burst.count)
  addLikelihoods(burst, own, gains, 1)
  addLikelihoods(burst, path, gains, -1)
  return gains
}

function addLikelihoods(burst: Burst, tones: Uint8Array, into: Float64Array, sign: number): void {
  const table = turnTable(burst.parameters, false)
  const marks = new Float64Array(stateCount)
  const spaces = new Float64Array(stateCount)
  let state = reach
  for (let k = 0; k < burst.count; k++) {
    marks.fill(0)
    spaces.fill(0)
    addGains(burst, table, k, marks, spaces)
    into[k]! += sign * (tones[k] === 1 ? marks : spaces)[state]!
    state = Math.max(0, Math.min(stateCount - 1, state + burst.tones[k]! - tones[k]!))
  }
}
