// Deciding on the tones of a segment whose phase reference is known: coherent maximum-likelihood sequence detection, and the
// list of the next best sequences for repair.
//
// State: how many more spaces (or fewer, negative) a path has had than the path decided on before; its phase then differs by
// that many slip angles (branchGains.ts has the branch metric). Metrics are additive, so the runners-up are exact: a path that
// leaves the best one where two paths merged, taking the losing one, costs the difference that was found there. Candidates come
// off a heap in order of cost; each path may only leave again earlier than it last left, so that none comes twice.
// Sources: Seshadri and Sundberg, List Viterbi Decoding Algorithms with Applications, IEEE Trans. Commun. 42, 1994; Soong and
// Huang, A Tree-Trellis Based Fast Search for Finding the N Best Sentence Hypotheses, ICASSP 1991.
import { addGains, type FittedCopy, reach, stateCount, turnTable } from './branchGains.js'
import { type Burst, burstSymbolsMax } from './model.js'

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
  /** stateCount, or tonesStates */
  states: number
}

/**
 * States that have the last two tones in them: 4 for each of the other states, 2 for the last tone, 1 for the one before it. The
 * choice that is recorded is then the tone before these two.
 */
export const tonesStates = 4 * stateCount

/** @param statesMax tonesStates for one that decides along echoes, too */
export function createDecisionRecord(statesMax = stateCount): DecisionRecord {
  return {
    winner: new Uint8Array(burstSymbolsMax * statesMax),
    gap: new Float64Array(burstSymbolsMax * statesMax),
    metric: new Float64Array(stateCount),
    next: new Float64Array(stateCount),
    bestEnd: reach,
    states: stateCount,
  }
}

/** Runs the trellis along the burst's tones; they stay as they are, since the record refers to them. */
export function runTrellis(burst: Burst, record: DecisionRecord): void {
  runJointTrellis([{ burst, inverted: false }], record)
}

/**
 * The same over several copies, along the first one's tones: what they have in common is the path, and their log-likelihoods
 * add up. Each has its own phase reference, amplitudes, noise and reliabilities.
 */
export function runJointTrellis(copies: readonly FittedCopy[], record: DecisionRecord): void {
  const { count, tones } = copies[0]!.burst
  const { winner, gap } = record
  const tables = copies.map(({ burst, inverted }) => turnTable(burst.parameters, inverted))
  const marks = new Float64Array(stateCount)
  const spaces = new Float64Array(stateCount)
  let metric = record.metric.fill(0)
  let next = record.next
  for (let k = 0; k < count; k++) {
    marks.fill(0)
    spaces.fill(0)
    for (let at = 0; at < copies.length; at++) {
      const { burst, inverted } = copies[at]!
      if (inverted) addGains(burst, tables[at]!, k, spaces, marks)
      else addGains(burst, tables[at]!, k, marks, spaces)
    }
    // A space more than the path decided on leads one state up, a space less one state down.
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
      gap[base + state] = markWins ? mark - space : space - mark
    }
    const swap = metric
    metric = next
    next = swap
  }
  let best = 0
  for (let state = 1; state < stateCount; state++) if (metric[state]! > metric[best]!) best = state
  record.bestEnd = best
  record.states = stateCount
}

/**
 * Replaces the burst's tones by the most likely ones.
 * @returns how many of them changed
 */
export function coherentDecision(burst: Burst, record: DecisionRecord): number {
  runTrellis(burst, record)
  const tones = burst.tones.slice(0, burst.count)
  tracePath(burst, record, [], tones)
  let changed = 0
  for (let k = 0; k < burst.count; k++) if (tones[k] !== burst.tones[k]) changed++
  burst.tones.set(tones)
  return changed
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
  // In order of cost, and never more than may still be visited.
  const waiting: Path[] = [{ cost: 0, departures: [] }]
  for (let seen = 1; waiting.length > 0; seen++) {
    const path = waiting.shift()!
    if (path.cost > limits.costMax || !visit(path)) return
    const room = limits.pathsMax - seen
    if (waiting.length > room) waiting.length = room
    if (room > 0) addDepartures(burst, record, path, limits, waiting, room)
  }
}

/** All paths that leave this one once more, earlier than it left last; those that cost too much to be visited are left out. */
function addDepartures(
  burst: Burst,
  record: DecisionRecord,
  path: Path,
  { from, to, costMax }: { from: number; to: number; costMax: number },
  waiting: Path[],
  room: number,
): void {
  const { count, tones } = burst
  const { winner, gap, bestEnd, states } = record
  const { departures } = path
  const end = Math.min(to, departures.at(-1) ?? count)
  // What a departure may add to the path's cost at most.
  let gapMax = Math.min(costMax - path.cost, unreachable)
  if (waiting.length === room) gapMax = Math.min(gapMax, waiting[room - 1]!.cost - path.cost)
  let state = bestEnd
  let next = 0
  for (let k = count - 1; k >= from; k--) {
    const at = k * states + state
    if (k < end && gap[at]! < gapMax) {
      insert(waiting, { cost: path.cost + gap[at]!, departures: [...departures, k] }, room)
      if (waiting.length === room) gapMax = Math.min(gapMax, waiting[room - 1]!.cost - path.cost)
    }
    let choice = winner[at]!
    if (departures[next] === k) {
      choice ^= 1
      next++
    }
    state = stateBefore(record, state, choice, tones[k]!)
    if (state < 0) return
  }
}

/** Tone of the symbol that led into a state. */
function toneInto({ states }: DecisionRecord, state: number, choice: number): number {
  return states === tonesStates ? (state >> 1) & 1 : choice
}

/**
 * Back to the state before a symbol: a mark where the path decided on has a space undoes one space less, and so on.
 * @returns -1 for one that is not followed
 */
function stateBefore(
  record: DecisionRecord,
  state: number,
  choice: number,
  decided: number,
): number {
  const hasTones = record.states === tonesStates
  const slips = (hasTones ? state >> 2 : state) + toneInto(record, state, choice) - decided
  if (slips < 0 || slips >= stateCount) return -1
  return hasTones ? 4 * slips + 2 * (state & 1) + choice : slips
}

function insert(waiting: Path[], path: Path, room: number): void {
  let at = waiting.length
  while (at > 0 && waiting[at - 1]!.cost > path.cost) at--
  waiting.splice(at, 0, path)
  if (waiting.length > room) waiting.pop()
}

/** Writes the tones of a path. */
export function tracePath(
  burst: Burst,
  record: DecisionRecord,
  departures: readonly number[],
  into: Uint8Array,
): void {
  const { count, tones } = burst
  let state = record.bestEnd
  let next = 0
  for (let k = count - 1; k >= 0; k--) {
    let choice = record.winner[k * record.states + state]!
    if (departures[next] === k) {
      choice ^= 1
      next++
    }
    into[k] = toneInto(record, state, choice)
    state = stateBefore(record, state, choice, tones[k]!)
    if (state < 0) return
  }
}

/** Another path that leaves the most likely one and comes back to it. */
export interface Departure {
  /** difference of log-likelihoods */
  readonly cost: number
  /** symbols whose tone is the other one, late ones first */
  readonly symbols: readonly number[]
}

/**
 * Decides on the most likely path, and lists the ways in which it may be wrong at one place.
 * @param into tones of the path
 */
export function decideWithDepartures(
  burst: Burst,
  record: DecisionRecord,
  into: Uint8Array,
  costMax: number,
): Departure[] {
  const { count } = burst
  const before = burst.tones.slice(0, count)
  // states[k] is the one behind symbol k - 1.
  const states = new Int8Array(count + 1)
  states[count] = record.bestEnd
  for (let k = count - 1; k >= 0; k--) {
    const tone = record.winner[k * stateCount + states[k + 1]!]!
    into[k] = tone
    states[k] = states[k + 1]! + tone - before[k]!
    if (states[k]! < 0 || states[k]! >= stateCount) return []
  }
  const departures: Departure[] = []
  for (let k = 0; k < count; k++) {
    const cost = record.gap[k * stateCount + states[k + 1]!]!
    if (cost > costMax) continue
    const symbols = [k]
    let state = states[k + 1]! + (into[k]! ^ 1) - before[k]!
    for (let at = k - 1; at >= 0 && state !== states[at + 1] && isState(state); at--) {
      const tone = record.winner[at * stateCount + state]!
      if (tone !== into[at]) symbols.push(at)
      state += tone - before[at]!
    }
    departures.push({ cost, symbols })
  }
  return departures
}

const isState = (state: number): boolean => state >= 0 && state < stateCount
