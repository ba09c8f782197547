// Jumps of the symbols' timing, by the line at the symbol rate before and behind each moment. What the signs scatter about it is
// their noise, whatever it comes from: so a jump is told from chance beside noise, clicks, an echo or a weak tone as well.
import { cellSamples, type TimingLine } from './symbolView.js'

export interface TimingJump {
  /** working samples */
  readonly atSample: number
  /** symbols, 0 to 0.5 */
  readonly size: number
  /** over its standard deviation */
  readonly sureness: number
}

/** Cells before and behind: two holes of one frame may lie that close, and behind the last one may be little. */
const widths = [20, 40] as const
/** So far beside it the signal is looked at, beyond the pieces that it spoils. */
const besideSamples = 360
/** The metric looks at three symbols: of these it sees both sides. */
const between = 2
/** Symbols; a smaller one does little harm, and an echo moves the timing of flags and of data by less. */
const sizeMin = 0.1
/** Length of the line's mean: noise alone has less. A signal in noise of 4 dB Eb/N0 has 0.08, a clean one 0.17. */
const lineMin = 0.03

/**
 * @param isSignal whether a signal is heard at a sample: it must be before and behind
 * @returns the surest one between two moments, working samples
 */
export function surestJump(
  line: TimingLine,
  from: number,
  to: number,
  isSignal: (sample: number) => boolean,
): TimingJump | undefined {
  const sums = runningSums(line)
  const first = Math.max(0, Math.ceil(from / cellSamples))
  const end = Math.min(line.re.length, Math.floor(to / cellSamples))
  let best: TimingJump | undefined
  for (const width of widths)
    for (let at = first + width; at + between + width <= end; at++) {
      const before = meanOf(sums, at - width, at)
      const behind = meanOf(sums, at + between, at + between + width)
      if (Math.min(before.length, behind.length) < lineMin) continue
      const turn = Math.abs(
        Math.atan2(
          behind.im * before.re - behind.re * before.im,
          behind.re * before.re + behind.im * before.im,
        ),
      )
      const size = turn / (2 * Math.PI)
      const sureness = turn / Math.sqrt(before.variance + behind.variance)
      const atSample = (at + between / 2) * cellSamples
      if (
        size > sizeMin &&
        sureness > (best?.sureness ?? 0) &&
        isSignal(atSample - besideSamples) &&
        isSignal(atSample + besideSamples)
      )
        best = { atSample, size, sureness }
    }
  return best
}

/** Of the timing from some cells before a moment to as many from another one on, symbols, 0 to 0.5. */
export function timingChange(line: TimingLine, before: number, from: number): number {
  const mean = (first: number) => {
    const [start, end] = [first, first + widths[1]].map((cell) => Math.max(0, Math.floor(cell)))
    const sum = (values: Float32Array): number =>
      values.subarray(start, end).reduce((total, value) => total + value, 0)
    return { re: sum(line.re), im: sum(line.im) }
  }
  const a = mean(before / cellSamples - widths[1])
  const b = mean(from / cellSamples)
  const turn = Math.atan2(b.im * a.re - b.re * a.im, b.re * a.re + b.im * a.im)
  return Math.abs(turn) / (2 * Math.PI)
}

interface Sums {
  readonly re: Float64Array
  readonly im: Float64Array
  readonly square: Float64Array
}

function runningSums({ re, im }: TimingLine): Sums {
  const sums = {
    re: new Float64Array(re.length + 1),
    im: new Float64Array(re.length + 1),
    square: new Float64Array(re.length + 1),
  }
  for (let at = 0; at < re.length; at++) {
    sums.re[at + 1] = sums.re[at]! + re[at]!
    sums.im[at + 1] = sums.im[at]! + im[at]!
    sums.square[at + 1] = sums.square[at]! + re[at]! ** 2 + im[at]! ** 2
  }
  return sums
}

/** Mean pointer, its length, and the variance of its angle, by how the pointers scatter across it. */
function meanOf({ re, im, square }: Sums, from: number, to: number) {
  const count = to - from
  const x = (re[to]! - re[from]!) / count
  const y = (im[to]! - im[from]!) / count
  const power = x * x + y * y + 1e-12
  const scatter = Math.max(1e-4, (square[to]! - square[from]!) / count - power)
  return { re: x, im: y, length: Math.sqrt(power), variance: scatter / (2 * count * power) }
}
