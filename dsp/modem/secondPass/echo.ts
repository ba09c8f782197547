// Audio that comes a second time, a symbol or so later and weaker: what a symbol's correlations hold then depends on the two
// symbols before it, too.
//
// Both correlations of a symbol, in the phase of its start, are  own[tone] + past[the two tones before]  and noise that they
// share in part. All of it is fitted to the tones decided on, and those are decided on anew: a state has the last two tones
// beside how many more spaces a path has had (decision.ts), and the branch metric is the log-likelihood of both correlations.
import { reach, stateCount as slipCount } from './branchGains.js'
import { type DecisionRecord, tonesStates, tracePath } from './decision.js'
import { refitPhase } from './fit.js'
import { type Burst, slipAngle } from './model.js'

/** Real and imaginary part of the mark correlation, then of the space correlation. */
const parts = 4
/** The two tones before: 2 for the one before, 1 for the one before that. */
const pasts = 4
const patterns = 2 * pasts
/**
 * What the past explains over noise, for each of its terms (an F test), from which on it is an echo. Found by trial: echoes of
 * half the amplitude gave 30 and more down to 5 dB Eb/N0.
 */
const significanceMin = 12
/** Rounds of fitting the two parts of the model in turns, and of fitting and deciding. */
const fitRounds = 4
const decisionRounds = 3
const impossible = -1e9

interface EchoModel {
  /** by tone and part */
  readonly own: Float64Array
  /** by the two tones before and part */
  readonly past: Float64Array
  readonly noise: Noise
  readonly significance: number
}

/** Covariance of the two correlations: of each of their two parts, and what they share. */
interface Noise {
  readonly mark: number
  readonly space: number
  readonly re: number
  readonly im: number
}

/**
 * Decides on the tones of a fitted burst anew where they have an echo.
 * @param recordFor asked for a record of `tonesStates` where there is one
 * @returns the record of the last decision; undefined where there is no echo
 */
export function decideAlongEcho(
  burst: Burst,
  recordFor: () => DecisionRecord,
): DecisionRecord | undefined {
  let model = fitEcho(burst)
  if (model.significance < significanceMin) return undefined
  const record = recordFor()
  for (let round = 0; round < decisionRounds; round++) {
    runEchoTrellis(burst, model, record)
    const decided = burst.tones.slice(0, burst.count)
    tracePath(burst, record, [], decided)
    burst.tones.set(decided)
    refitPhase(burst, true)
    model = fitEcho(burst)
  }
  runEchoTrellis(burst, model, record)
  return record
}

/** Correlations of symbol k in the phase of its start. */
function inPhase(burst: Burst, k: number, into: Float64Array): void {
  const { run, phaseRe, phaseIm, referenceRe, referenceIm } = burst
  const re = phaseRe[k]! * referenceRe[k]! - phaseIm[k]! * referenceIm[k]!
  const im = phaseIm[k]! * referenceRe[k]! + phaseRe[k]! * referenceIm[k]!
  into[0] = run.markRe[k]! * re + run.markIm[k]! * im
  into[1] = run.markIm[k]! * re - run.markRe[k]! * im
  into[2] = run.spaceRe[k]! * re + run.spaceIm[k]! * im
  into[3] = run.spaceIm[k]! * re - run.spaceRe[k]! * im
}

const pastOf = (tones: Uint8Array, k: number): number => 2 * tones[k - 1]! + tones[k - 2]!

/** Fits the model along the burst's tones, phase and reference. */
function fitEcho(burst: Burst): EchoModel {
  const { count, tones, reliability } = burst
  const own = new Float64Array(2 * parts)
  const past = new Float64Array(pasts * parts)
  const ownWeights = new Float64Array(2)
  const pastWeights = new Float64Array(pasts)
  const z = new Float64Array(parts)
  for (let round = 0; round < fitRounds; round++) {
    own.fill(0)
    ownWeights.fill(0)
    for (let k = 2; k < count; k++) {
      inPhase(burst, k, z)
      addRest(own, ownWeights, tones[k]!, z, past, pastOf(tones, k), reliability[k]!)
    }
    divide(own, ownWeights)
    past.fill(0)
    pastWeights.fill(0)
    for (let k = 2; k < count; k++) {
      inPhase(burst, k, z)
      addRest(past, pastWeights, pastOf(tones, k), z, own, tones[k]!, reliability[k]!)
    }
    divide(past, pastWeights)
  }
  const noise = noiseAlong(burst, own, past)
  let explained = 0
  for (let at = 0; at < past.length; at++)
    explained += pastWeights[Math.floor(at / parts)]! * past[at]! ** 2
  const freedom = (pasts - 1) * parts
  return {
    own,
    past,
    noise,
    significance: (2 * explained) / ((noise.mark + noise.space) * freedom),
  }
}

/** Adds what is left of z without one term of another part of the model to a term of this one. */
function addRest(
  sums: Float64Array,
  weights: Float64Array,
  term: number,
  z: Float64Array,
  other: Float64Array,
  otherTerm: number,
  weight: number,
): void {
  weights[term]! += weight
  for (let n = 0; n < parts; n++)
    sums[term * parts + n]! += weight * (z[n]! - other[otherTerm * parts + n]!)
}

function divide(sums: Float64Array, weights: Float64Array): void {
  for (let at = 0; at < sums.length; at++) sums[at]! /= weights[Math.floor(at / parts)]! + 1e-9
}

function noiseAlong(burst: Burst, own: Float64Array, past: Float64Array): Noise {
  const { count, tones, reliability } = burst
  const z = new Float64Array(parts)
  let [mark, space, re, im, weight] = [1e-12, 1e-12, 0, 0, 1e-9]
  for (let k = 2; k < count; k++) {
    inPhase(burst, k, z)
    const w = reliability[k]!
    for (let n = 0; n < parts; n++)
      z[n]! -= own[tones[k]! * parts + n]! + past[pastOf(tones, k) * parts + n]!
    mark += w * (z[0]! ** 2 + z[1]! ** 2)
    space += w * (z[2]! ** 2 + z[3]! ** 2)
    re += w * (z[0]! * z[2]! + z[1]! * z[3]!)
    im += w * (z[1]! * z[2]! - z[0]! * z[3]!)
    weight += 2 * w
  }
  return { mark: mark / weight, space: space / weight, re: re / weight, im: im / weight }
}

/** What a pattern of three tones is worth: its log-likelihood is  weights z - energy. Patterns count 4 for the latest tone. */
interface Branches {
  readonly weights: Float64Array
  readonly energies: Float64Array
}

function branchesOf({ own, past, noise: { mark, space, re, im } }: EchoModel): Branches {
  const weights = new Float64Array(patterns * parts)
  const energies = new Float64Array(patterns)
  const determinant = mark * space - re * re - im * im
  for (let pattern = 0; pattern < patterns; pattern++) {
    const [a, b, c, d] = Array.from(
      { length: parts },
      (_, n) => own[(pattern >> 2) * parts + n]! + past[(pattern & 3) * parts + n]!,
    ) as [number, number, number, number]
    const w = [
      space * a - re * c + im * d,
      space * b - re * d - im * c,
      mark * c - re * a - im * b,
      mark * d - re * b + im * a,
    ].map((value) => value / determinant)
    weights.set(w, pattern * parts)
    energies[pattern] = (a * w[0]! + b * w[1]! + c * w[2]! + d * w[3]!) / 2
  }
  return { weights, energies }
}

/** Log-likelihoods of symbol k, by slips and pattern. */
function fillGains(
  burst: Burst,
  k: number,
  { weights, energies }: Branches,
  turns: readonly { readonly cos: number; readonly sin: number }[],
  z: Float64Array,
  into: Float64Array,
): void {
  inPhase(burst, k, z)
  const trust = burst.reliability[k]!
  for (let slips = 0; slips < slipCount; slips++) {
    const { cos, sin } = turns[slips]!
    const a = z[0]! * cos + z[1]! * sin
    const b = z[1]! * cos - z[0]! * sin
    const c = z[2]! * cos + z[3]! * sin
    const d = z[3]! * cos - z[2]! * sin
    for (let pattern = 0; pattern < patterns; pattern++) {
      const at = pattern * parts
      const along =
        a * weights[at]! + b * weights[at + 1]! + c * weights[at + 2]! + d * weights[at + 3]!
      into[slips * patterns + pattern] = trust * (along - energies[pattern]!)
    }
  }
}

function runEchoTrellis(burst: Burst, model: EchoModel, record: DecisionRecord): void {
  const { count, tones } = burst
  const { winner, gap } = record
  const branches = branchesOf(model)
  const slip = slipAngle(burst.parameters)
  const turns = Array.from({ length: slipCount }, (_, slips) => {
    const angle = slip * (slips - reach)
    return { cos: Math.cos(angle), sin: Math.sin(angle) }
  })
  const z = new Float64Array(parts)
  const gains = new Float64Array(patterns * slipCount)
  let metric = new Float64Array(tonesStates)
  let next = new Float64Array(tonesStates)
  for (let k = 0; k < count; k++) {
    fillGains(burst, k, branches, turns, z, gains)
    const base = k * tonesStates
    for (let state = 0; state < tonesStates; state++) {
      const tone = (state >> 1) & 1
      const before = state & 1
      const from = (state >> 2) + tone - tones[k]!
      const isFollowed = from >= 0 && from < slipCount
      const at = from * 4 + 2 * before
      const branch = from * patterns + 4 * tone + 2 * before
      const space = isFollowed ? metric[at]! + gains[branch]! : impossible
      const mark = isFollowed ? metric[at + 1]! + gains[branch + 1]! : impossible
      next[state] = Math.max(space, mark)
      winner[base + state] = mark > space ? 1 : 0
      gap[base + state] = isFollowed ? Math.abs(mark - space) : -impossible
    }
    ;[metric, next] = [next, metric]
  }
  record.bestEnd = metric.indexOf(Math.max(...metric))
  record.states = tonesStates
}
