// What three symbols in a row tell of a signal: the metric whose line at the symbol rate is the timing (timing.ts), and
// the signs by which carrier detect and the correlators' gate go.
import { correlationMask, type ToneCorrelations } from './toneCorrelations.js'

/** Metric points a symbol: the line is one cycle a symbol, five points show it without loss. */
const pointsPerCell = 5
const pointCapacity = 64
const pointMask = pointCapacity - 1
/** Coherence and contrast look back on ten symbols. */
const signsGain = 0.1
/** Below three symbols of -100 dBFS there is only the rounding of running sums. */
const silentPower = 75e-10

/** What the latest symbols show of a signal, before anything is decided. */
export interface SymbolSigns {
  /** share of three symbols' power that lies along the best sequence, at the best timing phase; noise has 0.4 */
  coherence: number
  /** difference of the tones' powers over their sum, at the phase where it is largest; noise has 0.56 */
  contrast: number
  /** of the latest symbol, both tones */
  tonePower: number
}

/** exp(j angle) of no turn, and of 60 degrees. */
const turnsBack = [
  [1, 0],
  [0.5, Math.sqrt(3) / 2],
] as const

/** Once a symbol; coherence and contrast look back on ten of them. The object is used again. */
export type SymbolListener = (signs: Readonly<Omit<LineMetric, 'next'>>) => void

export interface LineMetric extends SymbolSigns {
  re: number
  im: number
  level: number
  /** Computes the metric's line over one cell; false while its samples are not yet known. Cells go up one by one. */
  next(cell: number): boolean
}

/** Best of the eight three-symbol sequences, at every other sample. */
export function createLineMetric(correlations: ToneCorrelations): LineMetric {
  const ring = new Float64Array(6 * pointCapacity + 1)
  // Means over the latest symbols, at each timing phase.
  const coherences = new Float64Array(pointsPerCell)
  const contrasts = new Float64Array(pointsPerCell)
  let points = 0
  const { spaceCycles } = correlations
  const spaceTable = rotations(spaceCycles)
  // How far a space symbol leaves the phase back: 60 degrees at 2200 Hz.
  const [backRe, backIm] = turnsBack[12 - spaceCycles]!

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
      if (points < pointsNeeded) addPoints(correlations, ring, points, pointsNeeded, spaceTable)
      points = pointsNeeded
      let re = 0
      let im = 0
      let level = 0
      let mostCoherent = 0
      let mostContrast = 0
      for (let point = 0; point < pointsPerCell; point++) {
        const first = cell * pointsPerCell + point
        findBestSequence(ring, first, backRe, backIm)
        const best = ring[bestAt]!
        const all =
          ring[powerRow + (first & pointMask)]! +
          ring[powerRow + ((first + pointsPerCell) & pointMask)]! +
          ring[powerRow + ((first + 2 * pointsPerCell) & pointMask)]!
        const share = all > silentPower ? best / (3 * all) : 0
        const before = coherences[point]!
        const coherence = before + (share - before) * signsGain
        coherences[point] = coherence
        mostCoherent = larger(mostCoherent, coherence)
        const contrastBefore = contrasts[point]!
        const latest = ring[contrastRow + ((first + 2 * pointsPerCell) & pointMask)]!
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
      metric.tonePower = ring[powerRow + ((pointsNeeded - 1) & pointMask)]!
      return true
    },
  }
  return metric
}

/** Rows of the ring of points: both tones' correlations in the phase reference of their own start, their power, their contrast. */
const markReRow = 0
const markImRow = pointCapacity
const spaceReRow = 2 * pointCapacity
const spaceImRow = 3 * pointCapacity
const powerRow = 4 * pointCapacity
const contrastRow = 5 * pointCapacity
/** Behind them what findBestSequence found: a number that a function returns is made anew, on the heap, each time. */
const bestAt = 6 * pointCapacity

/** Takes in the points from one number on up to another, excluded; a point is every other sample. */
function addPoints(
  correlations: ToneCorrelations,
  ring: Float64Array,
  from: number,
  end: number,
  spaceTurn: Float64Array,
): void {
  const { markRe, markIm, spaceRe, spaceIm } = correlations
  let turn = ((2 * from) % 60) * 2
  for (let point = from; point < end; point++) {
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
    ring[markReRow + to] = a * mc - b * ms
    ring[markImRow + to] = a * ms + b * mc
    ring[spaceReRow + to] = c * sc - d * ss
    ring[spaceImRow + to] = c * ss + d * sc
    // Turning does not change these.
    const mark = a * a + b * b
    const space = c * c + d * d
    ring[powerRow + to] = mark + space
    ring[contrastRow + to] = Math.abs(mark - space) / (mark + space + silentPower)
    turn = turn === 116 ? 0 : turn + 4
  }
}

/** Largest |sum|^2 of three symbols in a row, the first of them at a point. */
function findBestSequence(ring: Float64Array, point: number, turnRe: number, turnIm: number): void {
  const p0 = point & pointMask
  const p1 = (point + pointsPerCell) & pointMask
  const p2 = (point + 2 * pointsPerCell) & pointMask
  const m1r = ring[markReRow + p1]!
  const m1i = ring[markImRow + p1]!
  const s1r = ring[spaceReRow + p1]!
  const s1i = ring[spaceImRow + p1]!
  const m2r = ring[markReRow + p2]!
  const m2i = ring[markImRow + p2]!
  const s2r = ring[spaceReRow + p2]!
  const s2i = ring[spaceImRow + p2]!
  const m0r = ring[markReRow + p0]!
  const m0i = ring[markImRow + p0]!
  const s0r = ring[spaceReRow + p0]!
  const s0i = ring[spaceImRow + p0]!
  // A space symbol leaves the phase further back. What matters is the phase between the symbols: a first
  // space is turned back by as much, instead of all that follows it forward; a second one turns the third forward.
  const u0r = s0r * turnRe + s0i * turnIm
  const u0i = s0i * turnRe - s0r * turnIm
  const w2r = m2r * turnRe - m2i * turnIm
  const w2i = m2r * turnIm + m2i * turnRe
  const v2r = s2r * turnRe - s2i * turnIm
  const v2i = s2r * turnIm + s2i * turnRe
  ring[bestAt] = larger(
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

const markTurn = rotations(6)
const lineCos = Float64Array.from({ length: pointsPerCell }, (_, point) =>
  Math.cos((2 * Math.PI * point) / pointsPerCell),
)
const lineSin = Float64Array.from({ length: pointsPerCell }, (_, point) =>
  Math.sin((2 * Math.PI * point) / pointsPerCell),
)
