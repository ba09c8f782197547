// Flags as a rhythm: a row of flags repeats itself every eight symbols but for a sixth of a turn, whatever a filter, an echo, a limiter
// or an error of tuning makes of its tones. So they are seen where the symbols cannot be decided on. Chance octets do not repeat:
// eight symbols on there is cos(30 degrees)^8 = 0.32 in common. Digits, blanks and dots do; but for seven of eight symbols flags hold
// one tone, which stuffing forbids to all else (AX.25 2.2, bit stuffing): so they must lean to one tone, too.
import { workingRateHz } from '../modem/frontEnd/frontEnd.js'

/** Heard so often a second, as phases: the band of the tones is moved to zero, and each sample's size is taken out. */
const decimation = 5
/** Eight symbols, in these. */
const lag = (8 * 10) / decimation
/** Middle of the tones. */
const centreHz = 1700

/** Each sample against the one eight symbols on, as a pointer of length 1; and against the next one, half a symbol on. */
export interface FlagRhythm {
  readonly re: Float32Array
  readonly im: Float32Array
  /** above 0 where the higher tone is heard, below 0 where the lower one is */
  readonly lean: Float32Array
}

/** What flags have in the mean; what repeats itself most of usual frames has 0.33 at most (200 of test/channel/usualFrame.ts). */
const flagsLean = 0.7

/** @param offsetHz of both tones */
export function flagRhythm(working: Float32Array, offsetHz: number): FlagRhythm {
  const { re, im } = phases(working, centreHz + offsetHz)
  const count = Math.max(0, re.length - lag)
  const rhythm = {
    re: new Float32Array(count),
    im: new Float32Array(count),
    lean: new Float32Array(count),
  }
  for (let at = 0; at < count; at++) {
    rhythm.re[at] = re[at + lag]! * re[at]! + im[at + lag]! * im[at]!
    rhythm.im[at] = im[at + lag]! * re[at]! - re[at + lag]! * im[at]!
    rhythm.lean[at] = im[at + 1]! * re[at]! - re[at + 1]! * im[at]!
  }
  return rhythm
}

/** How much of what is heard in a window repeats itself as flags do, 0 to 1. */
export interface RhythmWindows {
  readonly share: Float32Array
  /** of the window's start, working samples */
  readonly sampleOf: (window: number) => number
  readonly windowAt: (sample: number) => number
}

export function rhythmWindows({ re, im, lean }: FlagRhythm, flags: number): RhythmWindows {
  const width = (flags - 1) * lag
  const share = new Float32Array(Math.max(0, re.length - width))
  let [sumRe, sumIm, sumLean] = [0, 0, 0]
  for (let at = 0; at < re.length; at++) {
    sumRe += re[at]! - (re[at - width] ?? 0)
    sumIm += im[at]! - (im[at - width] ?? 0)
    sumLean += lean[at]! - (lean[at - width] ?? 0)
    if (at >= width)
      share[at - width] = Math.min(Math.hypot(sumRe, sumIm), Math.abs(sumLean) / flagsLean) / width
  }
  return {
    share,
    sampleOf: (window) => window * decimation,
    windowAt: (sample) => Math.max(0, Math.round(sample / decimation)),
  }
}

/** Samples of the average that keeps the band, taken twice: 12 kHz / 7 = 1714 Hz is taken out. */
const averaged = 7

function phases(working: Float32Array, middleHz: number): { re: Float32Array; im: Float32Array } {
  const weights = Float64Array.from(
    { length: 2 * averaged - 1 },
    (_, n) => averaged - Math.abs(n - averaged + 1),
  )
  const turn = (2 * Math.PI * middleHz) / workingRateHz
  const cos = weights.map((weight, n) => weight * Math.cos(turn * n))
  const sin = weights.map((weight, n) => -weight * Math.sin(turn * n))
  const count = Math.max(0, Math.floor((working.length - weights.length) / decimation))
  const re = new Float32Array(count)
  const im = new Float32Array(count)
  for (let at = 0; at < count; at++) {
    const start = at * decimation
    let [x, y] = [0, 0]
    for (let n = 0; n < cos.length; n++) {
      x += working[start + n]! * cos[n]!
      y += working[start + n]! * sin[n]!
    }
    // Turned on by where it stands.
    const [c, s] = [Math.cos(turn * start), -Math.sin(turn * start)]
    const size = Math.hypot(x, y) + 1e-12
    re[at] = (x * c - y * s) / size
    im[at] = (x * s + y * c) / size
  }
  return { re, im }
}
