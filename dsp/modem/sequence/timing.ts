// Symbol timing without a loop (feed-forward), for the sequence detector.
//
// Model: at the right timing phase the correlations of three symbols in a row add up coherently along one of the eight
// possible tone sequences; half a symbol away none of the eight fits. So e[n] = max over sequences of |sum|^2 swings at the
// symbol rate, and the phase of that spectral line is the timing. On white noise at 6 dB Eb/N0 a window of 128 symbols finds
// it with a standard deviation of 0.024 symbols (|C|^2 of single symbols: 0.086; two symbols: 0.029), tone offsets of 100 Hz
// included, and the height of the line tells a signal from noise down to 3 dB. Method: Oerder and Meyr, Digital Filter and
// Square Timing Recovery, IEEE Trans. Commun. 36, 1988, with the nonlinearity replaced.
//
// A sender with another symbol rate moves the line: sums are kept for rates up to +-4.5 %, in half-bin steps.
// Of the windows that contain a hop, behind it, around it and ahead of it, the one with the strongest line wins, so that
// noise or open-squelch hiss next to a burst does not spoil the burst's first and last symbols.
import { createLineMetric, type SymbolListener } from './lineMetric.js'
import { symbolSamples, type ToneCorrelations } from './toneCorrelations.js'

/** Cells of ten samples that share one estimate. */
export const hopCells = 32
/** Hops of one estimation window. */
export const windowHops = 4
const windowCells = hopCells * windowHops

/** Rates tried: multiples of 1 / (2 * 128 symbols), 0.39 %. */
const rateStepsMax = 12
const rateCount = 2 * rateStepsMax + 1
const rateStep = 1 / (2 * windowCells)
/** A rate other than nominal must win by this factor: most senders run from crystals. */
const otherRatePenalty = 0.7

/** Cells that are added up before they are turned to each rate: at the farthest rates that costs 1 % of their sum. */
const groupCells = 2

/** Smaller rate errors are taken for none: a window of 128 symbols cannot tell, and its drift does no harm. */
const rateIgnored = 0.0012

/** Hops remembered; a power of two. */
const hopCapacity = 32
const hopMask = hopCapacity - 1
/** Cells on each side over which the metric's mean is taken, so that loud segments weigh no more than quiet ones. */
const levelCells = 8
const cellCapacity = 64
const cellMask = cellCapacity - 1

export interface TimingEstimate {
  /** start of a symbol near the middle of the hop, working samples */
  startSample: number
  /** sender's symbol rate over 1200 baud, minus 1 */
  rateError: number
  /** power of the line over the power of everything in its band, 0 to 1; noise stays below 0.14 */
  quality: number
}

export interface SequenceTiming {
  /** Takes in what the correlations have gained. */
  advance(): void
  /** hops whose sums are complete */
  readonly hops: number
  /** Hops in order; needs hops up to hop + windowHops - 1. */
  estimate(hop: number, into: TimingEstimate): void
}

export function createSequenceTiming(
  correlations: ToneCorrelations,
  onSymbol: SymbolListener = () => undefined,
): SequenceTiming {
  const metric = createLineMetric(correlations)
  const lineRe = new Float64Array(cellCapacity)
  const lineIm = new Float64Array(cellCapacity)
  const level = new Float64Array(cellCapacity)
  const hopRe = new Float64Array(hopCapacity * rateCount)
  const hopIm = new Float64Array(hopCapacity * rateCount)
  const hopPower = new Float64Array(hopCapacity)
  // Of the windows that begin with each hop: the best line's score, and its rate.
  const bestScore = new Float64Array(hopCapacity)
  const bestRates = new Uint8Array(hopCapacity)
  let windows = 0
  // What the group of cells holds so far, re and im, and the sum of the latest levels: variables of a closure would be made anew, on the heap, at each change.
  const group = new Float64Array(2)
  const levelSum = new Float64Array(1)
  let cells = 0
  let levelled = 0

  const addToHop = (cell: number, re: number, im: number): void => {
    const hop = Math.floor(cell / hopCells) & hopMask
    const base = hop * rateCount
    if (cell % hopCells === 0) {
      hopRe.fill(0, base, base + rateCount)
      hopIm.fill(0, base, base + rateCount)
      hopPower[hop] = 0
    }
    hopPower[hop]! += re * re + im * im
    group[0]! += re
    group[1]! += im
    if (cell % groupCells !== groupCells - 1) return
    addGroup(base, cell - (groupCells - 1) / 2, group[0]!, group[1]!)
    group.fill(0)
  }

  /** Adds up for each rate what a group of cells with this middle holds of its line. */
  const addGroup = (base: number, middle: number, re: number, im: number): void => {
    // Rotation by -2 pi r middle for each rate r: r moves in equal steps, so the rotation does too.
    const turn = (middle * rateStep) % 1
    const stepRe = Math.cos(2 * Math.PI * turn)
    const stepIm = -Math.sin(2 * Math.PI * turn)
    let upRe = re
    let upIm = im
    let downRe = re
    let downIm = im
    hopRe[base + rateStepsMax]! += re
    hopIm[base + rateStepsMax]! += im
    for (let step = 1; step <= rateStepsMax; step++) {
      const u = upRe * stepRe - upIm * stepIm
      upIm = upRe * stepIm + upIm * stepRe
      upRe = u
      const d = downRe * stepRe + downIm * stepIm
      downIm = downIm * stepRe - downRe * stepIm
      downRe = d
      hopRe[base + rateStepsMax + step]! += upRe
      hopIm[base + rateStepsMax + step]! += upIm
      hopRe[base + rateStepsMax - step]! += downRe
      hopIm[base + rateStepsMax - step]! += downIm
    }
  }

  /** Sum over a window of hops at one rate. */
  const windowSum = (sums: Float64Array, first: number, rate: number): number => {
    let sum = 0
    for (let h = first; h < first + windowHops; h++) sum += sums[(h & hopMask) * rateCount + rate]!
    return sum
  }

  /** Finds the strongest line of the window that begins with a hop. */
  const readWindow = (first: number): void => {
    let best = -1
    let bestRate = rateStepsMax
    for (let rate = 0; rate < rateCount; rate++) {
      const re = windowSum(hopRe, first, rate)
      const im = windowSum(hopIm, first, rate)
      const line = re * re + im * im
      const score = rate === rateStepsMax ? line : line * otherRatePenalty
      if (score > best) {
        best = score
        bestRate = rate
      }
    }
    bestScore[first & hopMask] = best
    bestRates[first & hopMask] = bestRate
  }

  const lineSize = (first: number, rate: number): number => {
    const re = windowSum(hopRe, first, rate)
    const im = windowSum(hopIm, first, rate)
    return Math.sqrt(re * re + im * im)
  }

  /** Peak of a parabola through the line's height at a rate and its neighbours, -0.5 to 0.5 steps. */
  const betweenRates = (first: number, rate: number): number => {
    if (rate === 0 || rate === rateCount - 1) return 0
    const before = lineSize(first, rate - 1)
    const here = lineSize(first, rate)
    const after = lineSize(first, rate + 1)
    const bend = 2 * here - before - after
    return bend > 0 ? Math.max(-0.5, Math.min(0.5, (0.5 * (after - before)) / bend)) : 0
  }

  return {
    advance() {
      while (metric.next(cells)) {
        onSymbol(metric)
        const at = cells & cellMask
        lineRe[at] = metric.re
        lineIm[at] = metric.im
        level[at] = metric.level
        // The ring begins with zeros: at first nothing is taken off.
        levelSum[0]! += metric.level
        levelSum[0]! -= level[(cells - 2 * levelCells - 1) & cellMask]!
        cells++
        if (cells > levelCells) {
          const middle = levelled & cellMask
          const mean = Math.max(0, levelSum[0]!) / (2 * levelCells + 1) + 1e-18
          addToHop(levelled, lineRe[middle]! / mean, lineIm[middle]! / mean)
          levelled++
        }
      }
    },
    get hops() {
      return Math.floor(levelled / hopCells)
    },
    estimate(hop, into) {
      while (windows <= hop) readWindow(windows++)
      let bestFirst = hop
      for (let first = Math.max(0, hop - windowHops + 1); first < hop; first++)
        if (bestScore[first & hopMask]! > bestScore[bestFirst & hopMask]!) bestFirst = first
      const bestRate = bestRates[bestFirst & hopMask]!
      const re = windowSum(hopRe, bestFirst, bestRate)
      const im = windowSum(hopIm, bestFirst, bestRate)
      let power = 1e-9
      for (let h = bestFirst; h < bestFirst + windowHops; h++) power += hopPower[h & hopMask]!
      into.quality = (re * re + im * im) / (power * windowCells)
      into.startSample = Math.atan2(im, re)
      const tried = (bestRate - rateStepsMax) * rateStep
      const between = betweenRates(bestFirst, bestRate)
      const exact = tried + between * rateStep
      into.rateError = Math.abs(exact) < rateIgnored ? 0 : exact
      // The sum's phase is that of the window's middle, whichever of two close rates it was taken with.
      const centre = bestFirst * hopCells + windowCells / 2
      into.startSample += 2 * Math.PI * (((tried - into.rateError) * centre) % 1)
      // The line at the middle of the hop is exp(-j 2 pi position / 10), up to whole symbols.
      const middle = hop * hopCells + hopCells / 2
      const turns = -into.startSample / (2 * Math.PI) - ((into.rateError * middle) % 1)
      into.startSample = (middle + turns - Math.round(turns)) * symbolSamples
    },
  }
}
