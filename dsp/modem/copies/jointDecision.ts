// Coherent decision over several copies: the trellis of secondPass/decision.ts with the copies' log-likelihoods added up. Each
// copy has its own phase reference, amplitudes, noise and reliabilities; what they have in common is the path. A path with one
// space more than the one decided on has one space more in every copy, and in an inverted one a mark more.
import type { DecisionRecord } from '../secondPass/decision.js'
import { type Burst, slipAngle } from '../secondPass/model.js'

/** A copy whose model is fitted; symbol k of all of them is the same one. */
export interface FittedCopy {
  readonly burst: Burst
  readonly inverted: boolean
}

const reach = 3
const stateCount = 2 * reach + 1
const impossible = -1e9

/**
 * Runs the trellis along the first copy's tones.
 * @param record as secondPass/decision.ts reads it, for its list of runners-up
 */
export function runJointTrellis(copies: readonly FittedCopy[], record: DecisionRecord): void {
  const { count, tones } = copies[0]!.burst
  const { winner, gap } = record
  const tables = copies.map(turnTable)
  const marks = new Float64Array(stateCount)
  const spaces = new Float64Array(stateCount)
  let metric = record.metric.fill(0)
  let next = record.next
  for (let k = 0; k < count; k++) {
    marks.fill(0)
    spaces.fill(0)
    copies.forEach((copy, at) => {
      addGains(copy, tables[at]!, k, marks, spaces)
    })
    const fromMark = tones[k] === 1 ? 0 : 1
    const fromSpace = fromMark - 1
    const base = k * stateCount
    for (let state = 0; state < stateCount; state++) {
      const m = state + fromMark
      const s = state + fromSpace
      const mark = m < stateCount ? metric[m]! + marks[m]! : impossible
      const space = s >= 0 ? metric[s]! + spaces[s]! : impossible
      const markWins = mark >= space
      next[state] = markWins ? mark : space
      winner[base + state] = markWins ? 1 : 0
      gap[base + state] = Math.abs(mark - space)
    }
    ;[metric, next] = [next, metric]
  }
  record.bestEnd = metric.indexOf(Math.max(...metric))
}

/** How a copy's phase turns with the state, and its space tone's tilt. */
interface TurnTable {
  readonly cosines: readonly number[]
  readonly sines: readonly number[]
  readonly tiltCos: number
  readonly tiltSin: number
}

function turnTable({ burst, inverted }: FittedCopy): TurnTable {
  const slip = slipAngle(burst.parameters) * (inverted ? -1 : 1)
  const angles = Array.from({ length: stateCount }, (_, state) => slip * (state - reach))
  return {
    cosines: angles.map(Math.cos),
    sines: angles.map(Math.sin),
    tiltCos: Math.cos(burst.parameters.tilt),
    tiltSin: Math.sin(burst.parameters.tilt),
  }
}

/** Adds a copy's log-likelihood of either tone at symbol k, by the state before it. */
function addGains(
  { burst, inverted }: FittedCopy,
  { cosines, sines, tiltCos, tiltSin }: TurnTable,
  k: number,
  marks: Float64Array,
  spaces: Float64Array,
): void {
  const { run, phaseRe, phaseIm, referenceRe, referenceIm, reliability, parameters } = burst
  const { markAmplitude, spaceAmplitude, variance } = parameters
  const re = phaseRe[k]! * referenceRe[k]! - phaseIm[k]! * referenceIm[k]!
  const im = phaseIm[k]! * referenceRe[k]! + phaseRe[k]! * referenceIm[k]!
  const markGain = (reliability[k]! * markAmplitude) / variance
  const spaceGain = (reliability[k]! * spaceAmplitude) / variance
  const mr = markGain * (run.markRe[k]! * re + run.markIm[k]! * im)
  const mi = markGain * (run.markIm[k]! * re - run.markRe[k]! * im)
  const ur = spaceGain * (run.spaceRe[k]! * re + run.spaceIm[k]! * im)
  const ui = spaceGain * (run.spaceIm[k]! * re - run.spaceRe[k]! * im)
  const sr = ur * tiltCos + ui * tiltSin
  const si = ui * tiltCos - ur * tiltSin
  const ofMark = inverted ? spaces : marks
  const ofSpace = inverted ? marks : spaces
  for (let state = 0; state < stateCount; state++) {
    const cos = cosines[state]!
    const sin = sines[state]!
    ofMark[state]! += mr * cos + mi * sin - (markGain * markAmplitude) / 2
    ofSpace[state]! += sr * cos + si * sin - (spaceGain * spaceAmplitude) / 2
  }
}

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
  const copy = { burst, inverted: false }
  const table = turnTable(copy)
  const marks = new Float64Array(stateCount)
  const spaces = new Float64Array(stateCount)
  let state = reach
  for (let k = 0; k < burst.count; k++) {
    marks.fill(0)
    spaces.fill(0)
    addGains(copy, table, k, marks, spaces)
    into[k]! += sign * (tones[k] === 1 ? marks : spaces)[state]!
    state = Math.max(0, Math.min(stateCount - 1, state + burst.tones[k]! - tones[k]!))
  }
}
