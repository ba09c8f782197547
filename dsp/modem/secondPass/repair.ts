// Second pass and soft repair of one segment: fit, decide again, and if that gives no good frame, try the runners-up of the
// decision in order of their likelihood.
//
// The usual error swaps two neighbouring tones: two channel bits, and after NRZI two data bits that are two apart. Repair works on
// tones, before NRZI and zero removal, so a repaired bit may also add or remove an inserted zero or a flag.
// How many candidates may be tried: each wrong one passes the FCS by chance once in 65536, and isPlausibleRepair then
// stops most of those.
import { createHdlcDecoder, type HdlcSegment } from '../../framing/hdlcDecoder.js'
import { isPlausibleRepair } from '../plausible.js'
import type { RepairLevel } from '../receivedFrame.js'
import type { ToneCorrelations } from '../sequence/toneCorrelations.js'
import {
  createDecisionRecord,
  type DecisionRecord,
  runTrellis,
  tonesStates,
  tracePath,
  visitPaths,
} from './decision.js'
import { decideAlongEcho } from './echo.js'
import { type FirstGuess, fitBurst } from './fit.js'
import { createHoleRepair } from './hole.js'
import { type Burst, burstSymbolsMax, createBurst } from './model.js'

export interface RepairedFrame {
  /** without FCS */
  readonly octets: Uint8Array
  /** start of the opening flag and end of the closing one, working samples */
  readonly startSample: number
  readonly endSample: number
  readonly precedingFlags: number
  /** channel bits changed: a swapped pair of neighbouring bits counts as one */
  readonly repairedBits: number
}

export interface FrameRepair {
  /**
   * @param guess what the first pass knows
   * @param departFrom paths may leave the best one from this symbol of the segment on
   * @param departTo and before this one
   */
  attempt(guess: FirstGuess, departFrom: number, departTo: number): RepairedFrame[]
}

interface PathLimits extends Budget {
  /** part of its only flag may be lost */
  readonly startsWithSignal: boolean
  readonly from: number
  readonly to: number
}

interface Budget {
  readonly pathsMax: number
  /** a path this many times less likely than the best one (natural logarithm) is not tried */
  readonly costMax: number
}

/** The best path's frame is believed although its content is odd if the runner-up is this much less likely: e^-6. */
const sureCost = 6

const budgets: Readonly<Record<RepairLevel, Budget>> = {
  none: { pathsMax: 2, costMax: sureCost },
  careful: { pathsMax: 32, costMax: 14 },
  eager: { pathsMax: 64, costMax: 20 },
}

/** How far into a segment a frame without its flag may begin, symbols; and runners-up that are searched for one. */
const lateSymbolsMax = 80
const latePathsMax = 3
const flagBits = [0, 1, 1, 1, 1, 1, 1, 0] as const

/** All that is tried on one segment: as a whole first, then as two parts with lost samples between them. */
export function createFrameRepair(correlations: ToneCorrelations, level: RepairLevel): FrameRepair {
  const whole = createListRepair(correlations, level)
  const hole = createHoleRepair(correlations)
  return {
    attempt(guess, departFrom, departTo) {
      const frames = whole.attempt(guess, departFrom, departTo)
      return frames.length > 0 || level === 'none' ? frames : hole.attempt(guess)
    },
  }
}

/** What one attempt works on. Nothing in it outlives the attempt, so all detectors of a thread share one. */
const createWorkspace = () => ({
  burst: createBurst(),
  record: createDecisionRecord(),
  /** the path at hand, and the most likely one */
  tones: new Uint8Array(burstSymbolsMax),
  best: new Uint8Array(burstSymbolsMax),
})
let workspace: ReturnType<typeof createWorkspace> | undefined

/** Four times as large, and made when an echo is heard first: most stations never hear one. */
let recordOfEcho: DecisionRecord | undefined
const recordForEcho = (): DecisionRecord => {
  recordOfEcho ??= createDecisionRecord(tonesStates)
  return recordOfEcho
}

function createListRepair(correlations: ToneCorrelations, level: RepairLevel): FrameRepair {
  workspace ??= createWorkspace()
  const { burst, record, tones, best } = workspace
  const budget = budgets[level]
  let found: HdlcSegment[] = []
  const decoder = createHdlcDecoder({ octetCountMax: 420 }, (segment) => found.push(segment))

  const framesIn = (path: Uint8Array, count: number): HdlcSegment[] => {
    found = []
    decoder.reset()
    for (let k = 1; k < count; k++) decoder.push(path[k] === path[k - 1] ? 1 : 0, k + 1)
    return found
  }

  /**
   * Frames that begin with the signal itself: a squelch may open so late that part of the only flag is lost. Whatever comes
   * first is taken for the symbol after the flag; each place is a try, and a chance for a wrong frame.
   */
  const lateFramesIn = (path: Uint8Array, count: number): HdlcSegment[] => {
    for (let from = 1; from < Math.min(lateSymbolsMax, count); from++) {
      found = []
      decoder.reset()
      for (const bit of flagBits) decoder.push(bit, from)
      for (let k = from; k < count; k++) decoder.push(path[k] === path[k - 1] ? 1 : 0, k + 1)
      const first = found[0]
      if (first !== undefined && first.start === from - 8) return [first]
    }
    return []
  }

  /** Changed tones of a frame, two of them taken as one change. */
  const changes = (segment: HdlcSegment): number => {
    let changed = 0
    for (let k = segment.start; k < segment.end; k++) if (tones[k] !== best[k]) changed++
    return Math.ceil(changed / 2)
  }

  const read = (segments: readonly HdlcSegment[]): RepairedFrame[] =>
    segments.map((segment) => ({
      octets: segment.octetsWithFcs.slice(0, -2),
      startSample: sampleAt(burst, segment.start),
      endSample: sampleAt(burst, segment.end),
      precedingFlags: segment.precedingFlags,
      repairedBits: changes(segment),
    }))

  /** Along the decision at hand, and its runners-up. */
  const search = (record: DecisionRecord, limits: PathLimits): RepairedFrame[] => {
    const { startsWithSignal } = limits
    let isBest = true
    let latePaths = latePathsMax
    let frames: RepairedFrame[] = []
    visitPaths(burst, record, limits, (path) => {
      if (isBest) {
        isBest = false
        tracePath(burst, record, path.departures, best)
        tones.set(best)
        frames = read(framesIn(tones, burst.count))
        if (frames.length === 0 && startsWithSignal)
          frames = read(lateFramesIn(tones, burst.count)).filter(makesSense)
        return frames.length === 0 || !frames.every(makesSense)
      }
      // The best path's frame of odd content stands, unless this runner-up is close.
      if (frames.length > 0 && path.cost >= sureCost) return false
      if (level === 'none') {
        frames = []
        return false
      }
      tracePath(burst, record, path.departures, tones)
      frames = read(framesIn(tones, burst.count)).filter(makesSense)
      if (frames.length === 0 && startsWithSignal && latePaths-- > 0)
        frames = read(lateFramesIn(tones, burst.count)).filter(makesSense)
      return frames.length === 0
    })
    return frames
  }

  return {
    attempt(guess, departFrom, departTo) {
      const { startsWithSignal } = guess
      const limits = { from: departFrom, to: departTo, startsWithSignal, ...budget }
      if (!fitBurst(burst, record, correlations, guess)) return []
      runTrellis(burst, record)
      const frames = search(record, limits)
      if (frames.length > 0 || level === 'none') return frames
      const ofEcho = decideAlongEcho(burst, recordForEcho)
      return ofEcho === undefined ? frames : search(ofEcho, limits)
    },
  }
}

function sampleAt({ count, run: { startSample } }: Burst, symbol: number): number {
  const length = (startSample[count - 1]! - startSample[0]!) / (count - 1)
  return startSample[0]! + symbol * length
}

const makesSense = (frame: RepairedFrame): boolean => isPlausibleRepair(frame.octets)
