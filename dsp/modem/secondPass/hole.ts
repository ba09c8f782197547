// Samples lost inside a frame: a sound card that overran leaves out a millisecond or two, and what comes after is early.
//
// The first pass's symbol timing then stands on one straight line before the hole and on another behind it, and no sequence
// fits all of the segment. So both lines are fitted; where along them the signal changes from one to the other shows in how much
// of three symbols' power lies along the best sequence; and the few tones about the place, as many as may have been lost
// among them, are tried. Each sequence of whole octets is a try, a chance for a wrong frame of one in 65536, and they are
// bounded. A hole of whole symbols does not show in the timing and is not found.
import {
  createSymbolRun,
  type SymbolRun,
  sampleSymbol,
  type ToneCorrelations,
} from '../sequence/toneCorrelations.js'
import { brokenTiming } from './brokenTiming.js'
import { decideByThree, turnsOf } from './byThree.js'
import type { FirstGuess } from './fit.js'
import { createFrameReader, isRightAndPlausible } from './frameReader.js'
import { burstSymbolsMax } from './model.js'

export interface FrameAcrossHole {
  /** without FCS */
  readonly octets: Uint8Array
  /** start of the opening flag and end of the closing one, working samples */
  readonly startSample: number
  readonly endSample: number
  readonly precedingFlags: number
  /** tones that were tried, each of them counted as a change */
  readonly repairedBits: number
}

export interface HoleRepair {
  attempt(guess: FirstGuess): FrameAcrossHole[]
}

/** The first pass moves its timing within a hop of 32 symbols of the hole; three-symbol blocks decide around it. */
const zoneSymbols = 44
/** Share of three symbols' power along the best sequence, noise 0.4, 7 dB Eb/N0 0.77: below, no hole can be told from noise. */
const shareMin = 0.75
/** Places tried on each side of the likeliest one, tones of which little is left there, and tones lost. */
const placeReach = 2
const straddledMax = 2
const unknownMax = 4
/** Sequences of whole octets whose FCS may be looked at, for each segment. */
const triesMax = 64

/** One of the two lines through the segment: its symbols, the tones decided on along it, and how well they fit. */
interface Line {
  readonly run: SymbolRun
  readonly tones: Uint8Array
  readonly shares: Float64Array
}

const createLine = (): Line => ({
  run: createSymbolRun(burstSymbolsMax),
  tones: new Uint8Array(burstSymbolsMax),
  shares: new Float64Array(burstSymbolsMax),
})

// Made when first needed: most stations never lose a sample. Nothing in them outlives an attempt: all detectors share them.
let lines: { before: Line; behind: Line } | undefined

export function createHoleRepair(correlations: ToneCorrelations): HoleRepair {
  const readFrames = createFrameReader()

  const follow = (line: Line, start: number, length: number, guess: FirstGuess): void => {
    for (let k = 0; k < guess.symbolCount; k++)
      sampleSymbol(correlations, start + length * k, line.run, k)
    decideByThree(line.run, guess.symbolCount, turnsOf(guess), line)
  }

  return {
    attempt(guess) {
      const count = guess.symbolCount
      const timing = count <= burstSymbolsMax ? brokenTiming(guess) : undefined
      if (timing === undefined) return []
      const { start, length, jump } = timing
      lines ??= { before: createLine(), behind: createLine() }
      const { before, behind } = lines
      follow(before, start, length, guess)
      follow(behind, start + jump, length, guess)
      const place = findPlace(before.shares, behind.shares, count, timing.at)
      if (place < 0) return []
      let tries = 0
      for (const { left, right, unknown } of candidates(place)) {
        if (left < 2 || right > count - 2) continue
        const tones = [
          ...before.tones.subarray(0, left),
          ...new Array<number>(unknown).fill(0),
          ...behind.tones.subarray(right, count),
        ]
        for (let pattern = 0; pattern < 1 << unknown; pattern++) {
          for (let bit = 0; bit < unknown; bit++) tones[left + bit] = (pattern >> bit) & 1
          const across = readFrames(tones, tones.length).filter(
            (segment) => segment.start < left && segment.end > left + unknown,
          )
          tries += across.length
          const frame = across.find(isRightAndPlausible)
          if (frame !== undefined) {
            const end = frame.end - left - unknown + right
            return [
              {
                octets: frame.octetsWithFcs.slice(0, -2),
                startSample: start + length * frame.start,
                endSample: start + jump + length * end,
                precedingFlags: frame.precedingFlags,
                repairedBits: unknown,
              },
            ]
          }
          if (tries >= triesMax) return []
        }
      }
      return []
    },
  }
}

/** @returns the symbol from which on the later line fits better, or -1 when one of both fits no signal */
function findPlace(
  before: Float64Array,
  behind: Float64Array,
  count: number,
  firstPassJump: number,
): number {
  const from = Math.max(2, firstPassJump - zoneSymbols)
  const to = Math.min(count - 2, firstPassJump + zoneSymbols)
  if (meanOf(before, 1, from) < shareMin || meanOf(behind, to, count - 1) < shareMin) return -1
  let lead = 0
  let best = 0
  let place = from
  for (let k = from; k < to; k++) {
    lead += before[k]! - behind[k]!
    if (lead > best) {
      best = lead
      place = k + 1
    }
  }
  return place
}

interface Candidate {
  /** tones before the hole end before this symbol, those behind it begin with `right` */
  readonly left: number
  readonly right: number
  readonly unknown: number
}

/** Places about the likeliest one, the nearest first, with few unknown tones before many. */
function candidates(place: number): Candidate[] {
  const all: Candidate[] = []
  for (let unknown = 1; unknown <= unknownMax; unknown++)
    for (let straddled = 0; straddled <= straddledMax; straddled++)
      for (let off = -placeReach; off <= placeReach; off++) {
        const left = place - straddled + off
        all.push({ left, right: left + straddled, unknown })
      }
  const rank = ({ left, right, unknown }: Candidate): number =>
    unknown + Math.abs((left + right) / 2 - place)
  return all.toSorted((a, b) => rank(a) - rank(b))
}

function meanOf(values: Float64Array, from: number, to: number): number {
  let sum = 0
  for (let at = from; at < to; at++) sum += values[at]!
  return to > from ? sum / (to - from) : 0
}
