// Second pass and soft repair of one stretch: fit, decide again, and if that gives no good frame, try the runners-up of the
// decision in order of their likelihood.
//
// The usual error swaps two neighbouring tones: two channel bits, and after NRZI two data bits that are two apart. Repair works on
// tones, before NRZI and zero removal, so a repaired bit may also add or remove an inserted zero or a flag.
// How many candidates may be tried: each wrong one passes the FCS by chance once in 65536, and isPlausibleRepair then
// stops most of those.
import { createHdlcDecoder, type HdlcSegment } from '../framing/hdlcDecoder.js'
import { createDecisionRecord, runTrellis, tracePath, visitPaths } from './burstDecision.js'
import { type FirstGuess, fitBurst } from './burstFit.js'
import { burstSymbolsMax, createBurst } from './burstModel.js'
import type { RepairLevel } from './receivedFrame.js'
import { isPlausibleRepair } from './repairPlausible.js'
import type { ToneCorrelations } from './toneCorrelations.js'

export interface RepairedFrame {
  /** without FCS */
  readonly octets: Uint8Array
  /** start of the opening flag and end of the closing one, working samples */
  readonly start: number
  readonly end: number
  readonly precedingFlags: number
  /** channel bits changed: a swapped pair of neighbouring bits counts as one */
  readonly repairedBits: number
}

export interface FrameRepair {
  /**
   * @param guess what the first pass knows
   * @param departFrom paths may leave the best one from this symbol of the stretch on
   * @param departTo and before this one
   */
  attempt(guess: FirstGuess, departFrom: number, departTo: number): RepairedFrame[]
}

interface Budget {
  readonly pathsMax: number
  /** a path this many times less likely than the best one (natural logarithm) is not tried */
  readonly costMax: number
}

const budgets: Readonly<Record<RepairLevel, Budget>> = {
  none: { pathsMax: 1, costMax: 0 },
  careful: { pathsMax: 32, costMax: 14 },
  eager: { pathsMax: 64, costMax: 20 },
}

export function createFrameRepair(correlations: ToneCorrelations, level: RepairLevel): FrameRepair {
  const burst = createBurst()
  const record = createDecisionRecord()
  const budget = budgets[level]
  const tones = new Uint8Array(burstSymbolsMax)
  let found: HdlcSegment[] = []
  const decoder = createHdlcDecoder({ octetCountMax: 420 }, (segment) => found.push(segment))

  const framesIn = (path: Uint8Array, count: number): HdlcSegment[] => {
    found = []
    decoder.reset()
    for (let k = 1; k < count; k++) decoder.push(path[k] === path[k - 1] ? 1 : 0, k + 1)
    return found
  }

  /** Changed tones of a frame, two of them taken as one change. */
  const changes = (path: Uint8Array, segment: HdlcSegment): number => {
    let changed = 0
    for (let k = segment.start; k < segment.end; k++) if (path[k] !== burst.tones[k]) changed++
    return Math.ceil(changed / 2)
  }

  const sampleAt = (k: number): number => {
    const last = burst.count - 1
    const length = (burst.run.position[last]! - burst.run.position[0]!) / last
    return burst.run.position[0]! + k * length
  }

  return {
    attempt(guess, departFrom, departTo) {
      fitBurst(burst, record, correlations, guess)
      runTrellis(burst, record)
      const best = tones.slice(0, burst.count)
      let isBest = true
      let repaired: RepairedFrame[] = []
      const limits = { from: departFrom, to: departTo, ...budget }
      visitPaths(burst, record, limits, (path) => {
        tracePath(burst, record, path.departures, tones)
        if (isBest) best.set(tones.subarray(0, burst.count))
        const segments = framesIn(tones, burst.count).filter(
          (segment) => isBest || isPlausibleRepair(segment.octetsWithFcs.subarray(0, -2)),
        )
        repaired = segments.map((segment) => ({
          octets: segment.octetsWithFcs.slice(0, -2),
          start: sampleAt(segment.start),
          end: sampleAt(segment.end),
          precedingFlags: segment.precedingFlags,
          repairedBits: isBest ? 0 : changes(tones, segment),
        }))
        isBest = false
        return repaired.length === 0
      })
      return repaired
    },
  }
}
