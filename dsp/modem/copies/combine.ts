// Frames out of several copies, none of which was good enough by itself: the same beacon again after half a minute, a copy of it
// through a digipeater that changed nothing, a second receiver.
//
// Stretches of signal without a frame are kept for a minute. A new one is held against them (align.ts); those that are alike
// are decided on jointly, first with unknown phases (secondPass/jointTrellis.ts), then with a model fitted to each along the common tones
// (secondPass/fit.ts), and runners-up are tried as in the repair of single copies.
// What could go wrong: two different frames of one station, of which the sum is neither. So a path is believed only where no
// copy contradicts it: along any few symbols, another path must not be much likelier in that copy.
import type { HdlcSegment } from '../../framing/hdlcDecoder.js'
import type { RepairLevel } from '../receivedFrame.js'
import type { FittedCopy } from '../secondPass/branchGains.js'
import {
  createDecisionRecord,
  type DecisionRecord,
  runJointTrellis,
  runTrellis,
  tracePath,
  visitPaths,
} from '../secondPass/decision.js'
import { refitPhase, setReliabilities } from '../secondPass/fit.js'
import { createFrameReader, isRightAndPlausible } from '../secondPass/frameReader.js'
import { decideJointly } from '../secondPass/jointTrellis.js'
import { type Burst, createBurst, fitAmplitudes } from '../secondPass/model.js'
import { type Alignment, align } from './align.js'
import { likelihoodGains } from './likelihoodGains.js'
import { type Stretch, stretchSymbolsMax } from './stretch.js'

export interface CombinedFrame {
  /** without FCS */
  readonly octets: Uint8Array
  /** where it stands in the latest copy: flag to flag, working samples */
  readonly startSample: number
  readonly endSample: number
  readonly precedingFlags: number
  /** changes to the most likely sequence, at least 1 */
  readonly repairedBits: number
  /** copies that it was made of */
  readonly copies: number
}

export interface CopyCounters {
  /** stretches held against those kept */
  stretches: number
  /** joint decisions */
  joint: number
  /** check sequences looked at */
  tries: number
  /** right ones that a copy contradicted */
  contradicted: number
}

export interface CopyCombiner {
  /** Takes a stretch in which no frame was found; it is kept if it gives none with those before it. */
  take(stretch: Stretch): CombinedFrame[]
  readonly counters: Readonly<CopyCounters>
}

export interface CopyBudget {
  /** stretches kept, and symbols in all of them: 40 s */
  readonly stretchesMax: number
  readonly symbolsMax: number
  /** joint decisions for each new stretch */
  readonly jointMax: number
  readonly copiesMax: number
  /** sequences tried in each */
  readonly pathsMax: number
  readonly costMax: number
}

const budgets: Readonly<Record<RepairLevel, CopyBudget | undefined>> = {
  none: undefined,
  careful: {
    ...{ stretchesMax: 32, symbolsMax: 48_000, jointMax: 4, copiesMax: 3 },
    ...{ pathsMax: 16, costMax: 12 },
  },
  eager: {
    ...{ stretchesMax: 32, symbolsMax: 48_000, jointMax: 8, copiesMax: 4 },
    ...{ pathsMax: 32, costMax: 14 },
  },
}

/** Rounds of fitting and deciding. */
const rounds = 3
/**
 * By how much a copy may like another path better, as a logarithm of likelihoods, in any so many symbols. At 2.5 to 4.5 dB
 * Eb/N0 noise made it 25 at most in 74 copies of one frame, and 7 in the check sequence; the sum of two frames that differ in
 * one digit has a check sequence of its own, which at least one of them contradicted by 15 to 52.
 */
const conflictSymbols = 24
const conflictMax = 30
const checkConflictMax = 10
/** Symbols of the check sequence, with inserted zeros and what an error before it reaches. */
const checkSymbols = 24
const flagSymbols = 8

/** @returns undefined at a level at which nothing is combined */
export function createCopyCombiner(level: RepairLevel): CopyCombiner | undefined {
  const budget = budgets[level]
  if (budget === undefined) return undefined
  const counters: CopyCounters = { stretches: 0, joint: 0, tries: 0, contradicted: 0 }
  let kept: Stretch[] = []
  let decide: JointDecider | undefined

  return {
    counters,
    take(stretch) {
      counters.stretches++
      const alike = kept
        .map((other) => ({ other, alignment: align(stretch, other) }))
        .filter((one): one is Alike => one.alignment !== undefined)
        .toSorted((a, b) => b.alignment.likeness - a.alignment.likeness)
      decide ??= alike.length > 0 ? createJointDecider(budget, counters) : undefined
      for (const group of groupsOf(alike, budget)) {
        const frames = decide!(stretch, group)
        if (frames.length === 0) continue
        kept = kept.filter((one) => !group.some(({ other }) => other === one))
        return frames
      }
      kept.push(stretch)
      while (kept.length > budget.stretchesMax || symbolsIn(kept) > budget.symbolsMax) kept.shift()
      return []
    },
  }
}

interface Alike {
  readonly other: Stretch
  readonly alignment: Alignment
}

const symbolsIn = (stretches: readonly Stretch[]): number =>
  stretches.reduce((sum, { count }) => sum + count, 0)

/** Most alike first: with one of them, then with two and more, then with others. */
function groupsOf(alike: readonly Alike[], { jointMax, copiesMax }: CopyBudget): Alike[][] {
  const more = Array.from({ length: copiesMax - 1 }, (_, n) => alike.slice(0, n + 1))
  const singles = alike.slice(1).map((one) => [one])
  return [...more.filter((group, n) => group.length === n + 1), ...singles].slice(0, jointMax)
}

type JointDecider = (stretch: Stretch, others: readonly Alike[]) => CombinedFrame[]

function createJointDecider(budget: CopyBudget, counters: CopyCounters): JointDecider {
  const bursts = Array.from({ length: budget.copiesMax }, createBurst)
  const record = createDecisionRecord()
  const ownRecord = createDecisionRecord()
  const tones = new Uint8Array(stretchSymbolsMax)
  const best = new Uint8Array(stretchSymbolsMax)
  const readFrames = createFrameReader()

  /** Symbols that all copies have, as they are numbered in the new one. */
  const decide = (stretch: Stretch, others: readonly Alike[]): CombinedFrame[] => {
    const from = Math.max(0, ...others.map(({ alignment }) => -alignment.shift))
    const to = Math.min(
      stretch.count,
      ...others.map(({ other, alignment }) => other.count - alignment.shift),
    )
    const count = to - from
    if (count < 150) return []
    counters.joint++
    const parts = [
      { stretch, first: from, inverted: false },
      ...others.map(({ other, alignment: { shift, inverted } }) => ({
        ...{ stretch: other, first: from + shift, inverted },
      })),
    ]
    decideJointly(
      parts.map((part) => ({ ...part.stretch, first: part.first, inverted: part.inverted })),
      count,
      tones,
    )
    const copies = parts.map(({ stretch: own, first, inverted }, at) => {
      const burst = bursts[at]!
      load(burst, own, first, count)
      return { burst, inverted, weights: own.weights.subarray(first, first + count) }
    })
    for (let round = 0; round < rounds; round++) {
      for (const copy of copies) fitAlong(copy, tones, round > 0)
      runJointTrellis(copies, record)
      tracePath(copies[0]!.burst, record, [], tones)
    }
    for (const copy of copies) fitAlong(copy, tones, true)
    runJointTrellis(copies, record)
    const segments = firstRight(copies)
    return segments.map((segment) => ({
      octets: segment.octetsWithFcs.slice(0, -2),
      startSample: stretch.startSample + stretch.symbolLength * (from + segment.start),
      endSample: stretch.startSample + stretch.symbolLength * (from + segment.end),
      precedingFlags: segment.precedingFlags,
      repairedBits: Math.max(1, changesIn(segment)),
      copies: copies.length,
    }))
  }

  const changesIn = ({ start, end }: HdlcSegment): number => {
    let changed = 0
    for (let k = start; k < end; k++) if (tones[k] !== best[k]) changed++
    return Math.ceil(changed / 2)
  }

  const firstRight = (copies: readonly FittedCopy[]): HdlcSegment[] => {
    const { burst } = copies[0]!
    const { pathsMax, costMax } = budget
    let right: HdlcSegment[] = []
    let isBest = true
    visitPaths(burst, record, { from: 0, to: burst.count, pathsMax, costMax }, (path) => {
      tracePath(burst, record, path.departures, tones)
      if (isBest) best.set(tones)
      isBest = false
      const segments = readFrames(tones, burst.count)
      counters.tries += segments.length
      right = segments.filter(isRightAndPlausible)
      const believed = right.filter((segment) =>
        copies.every((copy) => !contradicts(copy, tones, segment, ownRecord)),
      )
      counters.contradicted += right.length - believed.length
      right = believed
      return right.length === 0
    })
    return right
  }
  return decide
}

function load(burst: Burst, { run, ...stretch }: Stretch, first: number, count: number): void {
  burst.count = count
  for (const key of ['markRe', 'markIm', 'spaceRe', 'spaceIm'] as const)
    burst.run[key].set(run[key].subarray(first, first + count))
  const { markStep, spaceStep, markAmplitude, spaceAmplitude, variance } = stretch
  Object.assign(burst.parameters, {
    ...{ markStep, spaceStep, markAmplitude, spaceAmplitude, variance, tilt: 0 },
  })
  burst.reliability.set(stretch.weights.subarray(first, first + count))
}

interface WeighedCopy extends FittedCopy {
  /** trust in each symbol, from before anything was fitted */
  readonly weights: Float32Array
}

/** Fits a copy's model along the common tones. */
function fitAlong(
  { burst, inverted, weights }: WeighedCopy,
  tones: Uint8Array,
  apart: boolean,
): void {
  for (let k = 0; k < burst.count; k++) burst.tones[k] = inverted ? 1 - tones[k]! : tones[k]!
  refitPhase(burst, apart)
  fitAmplitudes(burst)
  setReliabilities(burst)
  for (let k = 0; k < burst.count; k++)
    burst.reliability[k] = Math.min(burst.reliability[k]!, weights[k]!)
}

/** Whether a copy would much rather have had something else, somewhere in the frame or in its check sequence. */
function contradicts(
  copy: FittedCopy,
  tones: Uint8Array,
  { start, end }: HdlcSegment,
  record: DecisionRecord,
): boolean {
  const { burst, inverted } = copy
  const path = inverted ? tones.map((tone) => 1 - tone) : tones
  const own = new Uint8Array(burst.count)
  runTrellis(burst, record)
  tracePath(burst, record, [], own)
  const gains = likelihoodGains(burst, path, own)
  const closing = end - flagSymbols
  return (
    largestWindow(gains, start, end) > conflictMax ||
    largestWindow(gains, closing - checkSymbols, closing + 2) > checkConflictMax
  )
}

/** Largest sum over a few symbols in a row. */
function largestWindow(values: Float64Array, from: number, to: number): number {
  let sum = 0
  let largest = 0
  for (let k = Math.max(0, from); k < Math.min(to, values.length); k++) {
    sum += values[k]!
    if (k - from >= conflictSymbols) sum -= values[k - conflictSymbols]!
    largest = Math.max(largest, sum)
  }
  return largest
}
