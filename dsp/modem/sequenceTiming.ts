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
import { correlationMask, symbolSamples, type ToneCorrelations } from './toneCorrelations.js'

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

/** Cells that are added up before they are turned to each rate: at the farthest rates that costs 0.2 % of their sum. */
const groupCells = 2

/** Smaller rate errors are taken for none: a window of 128 symbols cannot tell, and its drift does no harm. */
const rateIgnored = 0.0012

/** Hops remembered; a power of two. */
const hopCapacity = 32
/** Metric points a symbol: the line is one cycle a symbol, five points show it without loss. */
const pointsPerCell = 5
const pointCapacity = 64
const pointMask = pointCapacity - 1
/** Cells on each side over which the metric's mean is taken, so that loud stretches weigh no more than quiet ones. */
const levelCells = 8
/** Coherence and contrast look back on ten symbols. */
const signsGain = 0.1
/** Below three symbols of -100 dBFS there is only the rounding of running sums. */
const silentPower = 75e-10
const cellCapacity = 64
const cellMask = cellCapacity - 1

export interface TimingEstimate {
  /** start of a symbol near the middle of the hop, working samples */
  position: number
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
  /** Needs hops up to hop + windowHops - 1. */
  estimate(hop: number, into: TimingEstimate): void
}

/** What the latest symbols show of a signal, before anything is decided. */
export interface SymbolSigns {
  /** share of three symbols' power that lies along the best sequence, at the best timing phase; noise has 0.4 */
  coherence: number
  /** difference of the tones' powers over their sum, at the phase where it is largest; noise has 0.56 */
  contrast: number
  /** of the latest symbol, both tones */
  tonePower: number
}

/** Once a symbol; coherence and contrast look back on ten of them. The object is used again. */
export type SymbolListener = (signs: Readonly<SymbolSigns>) => void

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
  let groupRe = 0
  let groupIm = 0
  let cells = 0
  let levelled = 0
  let levelSum = 0

  const addToHop = (cell: number, re: number, im: number): void => {
    const hop = Math.floor(cell / hopCells) & (hopCapacity - 1)
    const base = hop * rateCount
    if (cell % hopCells === 0) {
      hopRe.fill(0, base, base + rateCount)
      hopIm.fill(0, base, base + rateCount)
      hopPower[hop] = 0
    }
    hopPower[hop]! += re * re + im * im
    groupRe += re
    groupIm += im
    if (cell % groupCells !== groupCells - 1) return
    addGroup(base, cell - (groupCells - 1) / 2, groupRe, groupIm)
    groupRe = 0
    groupIm = 0
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

  const lineSize = (first: number, rate: number): number => {
    let re = 0
    let im = 0
    for (let h = first; h < first + windowHops; h++) {
      const at = (h & (hopCapacity - 1)) * rateCount + rate
      re += hopRe[at]!
      im += hopIm[at]!
    }
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
        levelSum += metric.level
        const old = cells - 2 * levelCells - 1
        if (old >= 0) levelSum -= level[old & cellMask]!
        cells++
        if (cells > levelCells) {
          const middle = levelled & cellMask
          const mean = Math.max(0, levelSum) / (2 * levelCells + 1) + 1e-18
          addToHop(levelled, lineRe[middle]! / mean, lineIm[middle]! / mean)
          levelled++
        }
      }
    },
    get hops() {
      return Math.floor(levelled / hopCells)
    },
    estimate(hop, into) {
      let best = -1
      let bestFirst = 0
      let bestRate = rateStepsMax
      for (let first = Math.max(0, hop - windowHops + 1); first <= hop; first++) {
        let power = 1e-9
        for (let h = first; h < first + windowHops; h++) power += hopPower[h & (hopCapacity - 1)]!
        for (let rate = 0; rate < rateCount; rate++) {
          let re = 0
          let im = 0
          for (let h = first; h < first + windowHops; h++) {
            const at = (h & (hopCapacity - 1)) * rateCount + rate
            re += hopRe[at]!
            im += hopIm[at]!
          }
          const line = re * re + im * im
          const score = rate === rateStepsMax ? line : line * otherRatePenalty
          if (score > best) {
            best = score
            bestFirst = first
            bestRate = rate
            into.quality = line / (power * windowCells)
            into.position = Math.atan2(im, re)
          }
        }
      }
      const tried = (bestRate - rateStepsMax) * rateStep
      const between = betweenRates(bestFirst, bestRate)
      const exact = tried + between * rateStep
      into.rateError = Math.abs(exact) < rateIgnored ? 0 : exact
      // The sum's phase is that of the window's middle, whichever of two close rates it was taken with.
      const centre = bestFirst * hopCells + windowCells / 2
      into.position += 2 * Math.PI * (((tried - into.rateError) * centre) % 1)
      // The line at the middle of the hop is exp(-j 2 pi position / 10), up to whole symbols.
      const middle = hop * hopCells + hopCells / 2
      const turns = -into.position / (2 * Math.PI) - ((into.rateError * middle) % 1)
      into.position = (middle + turns - Math.round(turns)) * symbolSamples
    },
  }
}

interface LineMetric extends SymbolSigns {
  re: number
  im: number
  level: number
  /** Computes the metric's line over one cell; false while its samples are not yet known. Cells go up one by one. */
  next(cell: number): boolean
}

/** Best of the eight three-symbol sequences, at every other sample. */
function createLineMetric(correlations: ToneCorrelations): LineMetric {
  // Tone correlations in the phase reference of their own start, at even samples.
  const mr = new Float64Array(pointCapacity)
  const mi = new Float64Array(pointCapacity)
  const sr = new Float64Array(pointCapacity)
  const si = new Float64Array(pointCapacity)
  const power = new Float64Array(pointCapacity)
  const contrast = new Float64Array(pointCapacity)
  // Means over the latest symbols, at each timing phase.
  const coherences = new Float64Array(pointsPerCell)
  const contrasts = new Float64Array(pointsPerCell)
  const markTurn = rotations(6)
  const spaceTurn = rotations(11)
  const lineCos = Float64Array.from({ length: pointsPerCell }, (_, point) =>
    Math.cos((2 * Math.PI * point) / pointsPerCell),
  )
  const lineSin = Float64Array.from({ length: pointsPerCell }, (_, point) =>
    Math.sin((2 * Math.PI * point) / pointsPerCell),
  )
  let points = 0

  const addPoints = (end: number): void => {
    const { markRe, markIm, spaceRe, spaceIm } = correlations
    let turn = ((2 * points) % 60) * 2
    for (let point = points; point < end; point++) {
      const at = (2 * point) & correlationMask
      const to = point & pointMask
      const mc = markTurn[turn]!
      const ms = markTurn[turn + 1]!
      const sc = spaceTurn[turn]!
      const ss = spaceTurn[turn + 1]!
      const a = markRe[at]!
      const b = markIm[at]!
      const c = spaceRe[at]!
      const d = spaceIm[at]!
      mr[to] = a * mc - b * ms
      mi[to] = a * ms + b * mc
      sr[to] = c * sc - d * ss
      si[to] = c * ss + d * sc
      // Turning does not change these.
      const mark = a * a + b * b
      const space = c * c + d * d
      power[to] = mark + space
      contrast[to] = Math.abs(mark - space) / (mark + space + silentPower)
      turn = turn === 116 ? 0 : turn + 4
    }
    points = end
  }

  /** Largest |sum|^2 of three symbols in a row, the first of them at a point. */
  const bestSequence = (point: number): number => {
    const p0 = point & pointMask
    const p1 = (point + pointsPerCell) & pointMask
    const p2 = (point + 2 * pointsPerCell) & pointMask
    const m1r = mr[p1]!
    const m1i = mi[p1]!
    const s1r = sr[p1]!
    const s1i = si[p1]!
    const m2r = mr[p2]!
    const m2i = mi[p2]!
    const s2r = sr[p2]!
    const s2i = si[p2]!
    const m0r = mr[p0]!
    const m0i = mi[p0]!
    // A space symbol leaves the phase 60 degrees further back. What matters is the phase between the symbols: a first
    // space is turned back by as much, instead of all that follows it forward; a second one turns the third forward.
    const u0r = sr[p0]! * turnRe + si[p0]! * turnIm
    const u0i = si[p0]! * turnRe - sr[p0]! * turnIm
    const w2r = m2r * turnRe - m2i * turnIm
    const w2i = m2r * turnIm + m2i * turnRe
    const v2r = s2r * turnRe - s2i * turnIm
    const v2i = s2r * turnIm + s2i * turnRe
    return larger(
      larger(
        largerSum(m0r + m1r, m0i + m1i, m2r, m2i, s2r, s2i),
        largerSum(u0r + m1r, u0i + m1i, m2r, m2i, s2r, s2i),
      ),
      larger(
        largerSum(m0r + s1r, m0i + s1i, w2r, w2i, v2r, v2i),
        largerSum(u0r + s1r, u0i + s1i, w2r, w2i, v2r, v2i),
      ),
    )
  }

  const metric: LineMetric = {
    re: 0,
    im: 0,
    level: 0,
    coherence: 0,
    contrast: 0,
    tonePower: 0,
    next(cell) {
      const pointsNeeded = (cell + 3) * pointsPerCell
      if (correlations.end <= 2 * (pointsNeeded - 1)) return false
      if (points < pointsNeeded) addPoints(pointsNeeded)
      let re = 0
      let im = 0
      let level = 0
      let mostCoherent = 0
      let mostContrast = 0
      for (let point = 0; point < pointsPerCell; point++) {
        const first = cell * pointsPerCell + point
        const best = bestSequence(first)
        const all =
          power[first & pointMask]! +
          power[(first + pointsPerCell) & pointMask]! +
          power[(first + 2 * pointsPerCell) & pointMask]!
        const share = all > silentPower ? best / (3 * all) : 0
        const before = coherences[point]!
        const coherence = before + (share - before) * signsGain
        coherences[point] = coherence
        mostCoherent = larger(mostCoherent, coherence)
        const contrastBefore = contrasts[point]!
        const latest = contrast[(first + 2 * pointsPerCell) & pointMask]!
        const meanContrast = contrastBefore + (latest - contrastBefore) * signsGain
        contrasts[point] = meanContrast
        mostContrast = larger(mostContrast, meanContrast)
        re += best * lineCos[point]!
        im -= best * lineSin[point]!
        level += best
      }
      metric.re = re
      metric.im = im
      metric.level = level
      metric.coherence = mostCoherent
      metric.contrast = mostContrast
      metric.tonePower = power[(pointsNeeded - 1) & pointMask]!
      return true
    },
  }
  return metric
}

/** exp(j 60 degrees) */
const turnRe = 0.5
const turnIm = Math.sqrt(3) / 2

/** The larger |sum|^2 of a pair of symbols and either third one. */
function largerSum(re: number, im: number, ar: number, ai: number, br: number, bi: number): number {
  const xr = re + ar
  const xi = im + ai
  const yr = re + br
  const yi = im + bi
  return larger(xr * xr + xi * xi, yr * yr + yi * yi)
}

/** Of two powers. Which one is chance, and a branch that cannot be foreseen costs more than this arithmetic. */
const larger = (x: number, y: number): number => 0.5 * (x + y + Math.abs(x - y))

/** exp(j 2 pi cycles n / 60), real and imaginary parts in turn. */
function rotations(cycles: number): Float64Array {
  const table = new Float64Array(120)
  for (let n = 0; n < 60; n++) {
    const angle = (2 * Math.PI * ((cycles * n) % 60)) / 60
    table[2 * n] = Math.cos(angle)
    table[2 * n + 1] = Math.sin(angle)
  }
  return table
}
