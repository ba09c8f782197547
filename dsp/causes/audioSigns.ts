// Signs that the audio shows as it came, before anything is filtered.

import { clippedFrom } from '../modem/frontEnd/clippingLog.js'
import { workingRateHz } from '../modem/frontEnd/frontEnd.js'

/** A sine of the spectrum. */
export interface Line {
  readonly hz: number
  /** mean power, full scale 1 */
  readonly power: number
}

/** What stands below the band. */
export interface LowTones {
  /** at 50 or 60 Hz, the stronger one */
  readonly mains: Line | undefined
  /** the strongest line that stands out from its surroundings and belongs to neither */
  readonly subAudible: Line | undefined
}

/** Samples since the audio's start: the first, and behind the last. */
export interface SampleRange {
  readonly from: number
  readonly to: number
}

/** Share of samples at the converter's limits, 0 to 1. */
export function clippedShareOf(samples: Float32Array): number {
  let clipped = 0
  for (const sample of samples) if (Math.abs(sample) >= clippedFrom) clipped++
  return clipped / Math.max(1, samples.length)
}

/** Where samples lie at the converter's limits. */
export const clippedIn = (samples: Float32Array): SampleRange[] => rangesAbove(samples, clippedFrom)

/** Times the median height, which is 0.7 of a sine's peak, and 0.67 of the standard deviation of noise. */
const clickHeight = 8
/** Times the height that is loud, in any signal of two tones; below that of `clickHeight` in a sine and in noise. */
const loudHeight = 2.5
const loudShare = 0.85
/** More of it is a signal, between silences. */
const clickShareMax = 0.25
/** What is closer together is one click, samples. */
const clickApart = 16

/**
 * Samples that stand far out of all others.
 * @param samples as they came
 * @param usual those whose height is the usual one
 */
export function rawClicksIn(samples: Float32Array, usual: Float32Array): SampleRange[] {
  const heights = usual.map(Math.abs).toSorted()
  const atShare = (share: number): number => heights[Math.floor(share * heights.length)] ?? 0
  // Where one tone is weak and heard most of the time, the other is no click. Nor is what is as loud as the median of silence.
  const limit = Math.max(
    clickHeight * atShare(0.5),
    loudHeight * atShare(loudShare),
    Number.MIN_VALUE,
  )
  const high = usual.reduce((sum, sample) => sum + (Math.abs(sample) >= limit ? 1 : 0), 0)
  return high > usual.length * clickShareMax ? [] : rangesAbove(samples, limit)
}

/** Filters before the converter have widened clicks by so much on each side. */
const guardS = 0.0001

/** A straight line in place of each click. */
export function bridged(
  samples: Float32Array,
  clicks: readonly SampleRange[],
  sampleRateHz: number,
): Float32Array {
  const out = samples.slice()
  const guard = Math.ceil(guardS * sampleRateHz)
  for (const click of clicks) {
    const from = Math.max(0, click.from - guard)
    const to = Math.min(samples.length - 1, click.to + guard)
    const slope = (samples[to]! - out[from]!) / Math.max(1, to - from)
    for (let at = from; at < to; at++) out[at] = out[from]! + slope * (at - from)
  }
  return out
}

/** Samples so high or higher; what is closer together than a click is one range. */
function rangesAbove(samples: Float32Array, limit: number): SampleRange[] {
  const found: SampleRange[] = []
  for (let at = 0; at < samples.length; at++) {
    if (!(Math.abs(samples[at]!) >= limit)) continue
    const last = found.at(-1)
    if (last !== undefined && at - last.to < clickApart)
      found[found.length - 1] = { ...last, to: at + 1 }
    else found.push({ from: at, to: at + 1 })
  }
  return found
}

/** The very same value again and again: no audio came. */
export interface Gap {
  readonly firstSample: number
  readonly lastSample: number
}

/** Half of a symbol: no waveform of the band stands still so long; but one at the limit of the converter does. */
const gapS = 0.0004

export function gapsIn(samples: Float32Array, sampleRateHz: number): Gap[] {
  const found: Gap[] = []
  let start = 0
  for (let at = 1; at <= samples.length; at++) {
    if (samples[at] === samples[at - 1]) continue
    const isLong = at - start >= Math.max(4, gapS * sampleRateHz)
    if (isLong && Math.abs(samples[start]!) < clippedFrom)
      found.push({ firstSample: start, lastSample: at })
    start = at
  }
  return found
}

/** Lines are looked for up to here: 254.1 Hz is the highest of the usual tones of squelches (common practice, no source). */
const lowestHz = 45
const highestHz = 262
/** A line is so many times stronger than the median of the range: 15 dB. */
const prominence = 30
/** Mains stray by less than this (EN 50160: 1 % for 99.5 % of the year, from memory). */
const mainsStrayHz = 0.3

/** @param working audio at the working rate, nothing taken out */
export function lowTonesIn(working: Float32Array): LowTones {
  const low = lowRate(working)
  const powerAt = (hz: number): number => tonePower(low, hz, lowRateHz) / droop(hz)
  // A Hann window of so many seconds tells apart what is four of these steps apart.
  const stepHz = Math.min(2, Math.max(0.25, 0.5 / Math.max(0.05, low.length / lowRateHz)))
  const count = Math.floor((highestHz - lowestHz) / stepHz) + 1
  const powers = Float64Array.from({ length: count }, (_, at) => powerAt(lowestHz + at * stepHz))
  const floor = prominence * powers.toSorted()[count >> 1]!
  const mains = [50, 60]
    .map((hz) => ({
      hz,
      power: Math.max(...[-mainsStrayHz, 0, mainsStrayHz].map((stray) => powerAt(hz + stray))),
    }))
    .reduce((one, other) => (other.power > one.power ? other : one))
  const isHarmonic = (hz: number, power: number): boolean =>
    (power < 100 * mains.power &&
      Math.abs(hz - mains.hz * Math.round(hz / mains.hz)) < Math.max(2, 4 * stepHz)) ||
    // The window leaves so much of a strong tone beside it.
    (power < mains.power / 300 && mains.power > floor)
  let best = -1
  for (let at = 1; at + 1 < count; at++) {
    const power = powers[at]!
    const isPeak = power > floor && power >= powers[at - 1]! && power >= powers[at + 1]!
    if (!isPeak || power < (powers[best] ?? 0) || isHarmonic(lowestHz + at * stepHz, power))
      continue
    best = at
  }
  const subAudible =
    best < 0
      ? undefined
      : { hz: lowestHz + (best + topOf(powers, best)) * stepHz, power: powers[best]! }
  // A strong tone beside them shows at their frequency, too.
  const isMains = mains.power > floor && mains.power > (subAudible?.power ?? 0) / 100
  return { mains: isMains ? mains : undefined, subAudible }
}

/** Where the parabola through a peak and its neighbours, in dB, is highest: -0.5 to 0.5 steps off. */
function topOf(powers: Float64Array, at: number): number {
  const [before, here, after] = [-1, 0, 1].map((off) => Math.log(powers[at + off]! + 1e-30))
  const bend = 2 * here! - before! - after!
  return bend > 0 ? Math.max(-0.5, Math.min(0.5, (0.5 * (after! - before!)) / bend)) : 0
}

export const lowRateHz = 1200
export const lowDecimation = workingRateHz / lowRateHz

/** Averaged twice over a symbol: that takes out the mark tone, and 41 dB of the space tone. */
export function lowRate(working: Float32Array): Float32Array {
  const count = Math.max(0, Math.floor(working.length / lowDecimation) - 1)
  const low = new Float32Array(count)
  for (let at = 0; at < count; at++) {
    let sum = 0
    for (let n = 0; n < 2 * lowDecimation - 1; n++)
      sum += working[at * lowDecimation + n]! * (lowDecimation - Math.abs(n - lowDecimation + 1))
    low[at] = sum / lowDecimation ** 2
  }
  return low
}

/** Power that the averages leave of a tone. @see the response of a moving average, as in highPass.ts */
function droop(hz: number): number {
  const turn = (Math.PI * hz) / workingRateHz
  return (Math.sin(turn * lowDecimation) / (lowDecimation * Math.sin(turn))) ** 4
}

/** @returns mean power of a sine of that frequency, by a Hann window over all of the samples */
export function tonePower(samples: Float32Array, hz: number, sampleRateHz: number): number {
  const step = (2 * Math.PI * hz) / sampleRateHz
  const turn = (2 * Math.PI) / samples.length
  const [stepRe, stepIm] = [Math.cos(step), Math.sin(step)]
  const [turnRe, turnIm] = [Math.cos(turn), Math.sin(turn)]
  let [re, im, windowRe, windowIm] = [1, 0, 1, 0]
  let [sumRe, sumIm] = [0, 0]
  for (let at = 0; at < samples.length; at++) {
    const weighted = samples[at]! * (1 - windowRe)
    sumRe += weighted * re
    sumIm -= weighted * im
    const turned = re * stepRe - im * stepIm
    im = re * stepIm + im * stepRe
    re = turned
    const windowTurned = windowRe * turnRe - windowIm * turnIm
    windowIm = windowRe * turnIm + windowIm * turnRe
    windowRe = windowTurned
  }
  return (2 * (sumRe * sumRe + sumIm * sumIm)) / Math.max(1, samples.length) ** 2
}
