// Deciding on the tones of a stretch whose phase reference is known: coherent maximum-likelihood sequence detection, and the
// list of the next best sequences for repair.
//
// State: how many more spaces (or fewer, negative) a path has had than the path decided on before; its phase then differs by
// that many slip angles. Branch metric: the log-likelihood  (a Re(C exp(-j phase)) - a^2 / 2) / variance,  times the symbol's
// weight. Metrics are additive, so the runners-up are exact: a path that leaves the best one where two paths merged, taking
// the losing one, costs the difference that was found there. Candidates come off a heap in order of cost; each path may only
// leave again earlier than it last left, so that none comes twice.
// Sources: Seshadri and Sundberg, List Viterbi Decoding Algorithms with Applications, IEEE Trans. Commun. 42, 1994; Soong and
// Huang, A Tree-Trellis Based Fast Search for Finding the N Best Sentence Hypotheses, ICASSP 1991.
import { type Burst, burstSymbolsMax, slipAngle } from './burstModel.js'

const reach = 3
const stateCount = 2 * reach + 1
const impossible = -1e9
const unreachable = 1e8

/** What the last decision left behind, for the list. */
export interface DecisionRecord {
  /** tone that won at each state of each symbol */
  readonly winner: Uint8Array
  /** how far the loser was behind */
  readonly gap: Float64Array
  readonly metric: Float64Array
  readonly next: Float64Array
  bestEnd: number
}

export function createDecisionRecord(): DecisionRecord {
  return {
    winner: new Uint8Array(burstSymbolsMax * stateCount),
    gap: new Float64Array(burstSymbolsMax * stateCount),
    metric: new Float64Array(stateCount),
    next: new Float64Array(stateCount),
    bestEnd: reach,
  }
}

/** Runs the trellis along the burst's tones; they stay as they are, since the record refers to them. */
export function runTrellis(burst: Burst, record: DecisionRecord): void {
  const { count, run, tones, phase, referenceRe, referenceIm, weight, parameters } = burst
  const { markAmplitude, spaceAmplitude, variance } = parameters
  const { winner, gap } = record
  const slip = slipAngle(parameters)
  const cosines = Float64Array.from({ length: stateCount }, (_, s) => Math.cos(slip * (s - reach)))
  const sines = Float64Array.from({ length: stateCount }, (_, s) => Math.sin(slip * (s - reach)))
  const tiltCos = Math.cos(parameters.tilt)
  const tiltSin = Math.sin(parameters.tilt)
  let metric = record.metric.fill(0)
  let next = record.next
  for (let k = 0; k < count; k++) {
    const cos = Math.cos(phase[k]!)
    const sin = Math.sin(phase[k]!)
    const re = cos * referenceRe[k]! - sin * referenceIm[k]!
    const im = sin * referenceRe[k]! + cos * referenceIm[k]!
    const markGain = (weight[k]! * markAmplitude) / variance
    const spaceGain = (weight[k]! * spaceAmplitude) / variance
    const mr = markGain * (run.markRe[k]! * re + run.markIm[k]! * im)
    const mi = markGain * (run.markIm[k]! * re - run.markRe[k]! * im)
    const ur = spaceGain * (run.spaceRe[k]! * re + run.spaceIm[k]! * im)
    const ui = spaceGain * (run.spaceIm[k]! * re - run.spaceRe[k]! * im)
    const sr = ur * tiltCos + ui * tiltSin
    const si = ui * tiltCos - ur * tiltSin
    const markEnergy = (markGain * markAmplitude) / 2
    const spaceEnergy = (spaceGain * spaceAmplitude) / 2
    // A space more than the path decided on leads one state up, a space less one state down.
    const fromMark = tones[k] === 1 ? 0 : 1
    const fromSpace = fromMark - 1
    const base = k * stateCount
    for (let state = 0; state < stateCount; state++) {
      const m = state + fromMark
      const s = state + fromSpace
      const mark =
        m < stateCount ? metric[m]! + mr * cosines[m]! + mi * sines[m]! - markEnergy : impossible
      const space =
        s >= 0 ? metric[s]! + sr * cosines[s]! + si * sines[s]! - spaceEnergy : impossible
      const markWins = mark >= space
      next[state] = markWins ? mark : space
      winner[base + state] = markWins ? 1 : 0
      gap[base + state] = markWins ? mark - space : space - mark
    }
    const swap = metric
    metric = next
    next = swap
  }
  let best = 0
  for (let state = 1; state < stateCount; state++) if (metric[state]! > metric[best]!) best = state
  record.bestEnd = best
}

/** Replaces the burst's tones by the most likely ones. */
export function coherentDecision(burst: Burst, record: DecisionRecord): void {
  runTrellis(burst, record)
  const tones = burst.tones.slice(0, burst.count)
  tracePath(burst, record, [], tones)
  burst.tones.set(tones)
}

/** A sequence of tones and how much less likely it is than the best one. */
export interface Path {
  /** difference of log-likelihoods, 0 for the best path */
  readonly cost: number
  /** symbols at which it leaves the path it was derived from, late ones first */
  readonly departures: readonly number[]
}

/**
 * The most likely paths after runTrellis, best first.
 * @param from departures are only taken at symbols from this one on
 * @param to and before this one
 * @param visit sees each path; returning false ends the search
 */
export function visitPaths(
  burst: Burst,
  record: DecisionRecord,
  limits: { from: number; to: number; pathsMax: number; costMax: number },
  visit: (path: Path) => boolean,
): void {
  const waiting: Path[] = [{ cost: 0, departures: [] }]
  for (let seen = 0; seen < limits.pathsMax && waiting.length > 0; seen++) {
    const path = takeCheapest(waiting)
    if (path.cost > limits.costMax || !visit(path)) return
    const wanted = limits.pathsMax - seen - 1
    const more = departuresFrom(burst, record, path, limits)
    more.sort((a, b) => a.cost - b.cost)
    for (let at = 0; at < Math.min(wanted, more.length); at++) waiting.push(more[at]!)
  }
}

function takeCheapest(waiting: Path[]): Path {
  let cheapest = 0
  for (let at = 1; at < waiting.length; at++)
    if (waiting[at]!.cost < waiting[cheapest]!.cost) cheapest = at
  const path = waiting[cheapest]!
  const last = waiting.pop()!
  if (cheapest < waiting.length) waiting[cheapest] = last
  return path
}

/** All paths that leave this one once more, earlier than it left last. */
function departuresFrom(
  burst: Burst,
  record: DecisionRecord,
  path: Path,
  { from, to, costMax }: { from: number; to: number; costMax: number },
): Path[] {
  const found: Path[] = []
  const last = path.departures.at(-1) ?? burst.count
  walk(burst, record, path.departures, (k, at) => {
    const cost = path.cost + record.gap[at]!
    if (k < last && k >= from && k < to && record.gap[at]! < unreachable && cost <= costMax)
      found.push({ cost, departures: [...path.departures, k] })
  })
  return found
}

/** Writes the tones of a path. */
export function tracePath(
  burst: Burst,
  record: DecisionRecord,
  departures: readonly number[],
  into: Uint8Array,
): void {
  walk(burst, record, departures, (k, _at, tone) => {
    into[k] = tone
  })
}

/** Goes along a path from its end to its start. */
function walk(
  burst: Burst,
  record: DecisionRecord,
  departures: readonly number[],
  step: (k: number, at: number, tone: number) => void,
): void {
  const { count, tones } = burst
  let state = record.bestEnd
  let departure = 0
  for (let k = count - 1; k >= 0; k--) {
    const at = k * stateCount + state
    let tone = record.winner[at]!
    if (departures[departure] === k) {
      tone ^= 1
      departure++
    }
    step(k, at, tone)
    // Back to the state before: a mark where the path decided on has a space undoes one space less, and so on.
    state += tone - tones[k]!
    if (state < 0 || state >= stateCount) return
  }
}
