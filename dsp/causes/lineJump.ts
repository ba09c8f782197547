// Where the phase of mains hum, or of a sub-audible tone, jumps: these go on evenly, so samples were lost there, also where the symbols
// behind are as far apart as before.
import { workingRateHz } from '../modem/frontEnd/frontEnd.js'
import { lowDecimation, lowRate, lowRateHz } from './audioSigns.js'

export interface LineJump {
  /** working samples */
  readonly atSample: number
  /** turns, 0 to 0.5 */
  readonly size: number
  /** amplitude behind over that before */
  readonly ratio: number
  /** how much of what one even tone leaves goes when it may jump there, 0 to 1 */
  readonly explained: number
}

export interface JumpSearch {
  readonly hz: number
  /** how far the tone may lie beside that */
  readonly strayHz: number
  /** working samples between which the jump is looked for; the tone is heard before and behind, too */
  readonly from: number
  readonly to: number
}

/** Before and behind, s: mains make six turns in it. */
const besideS = 0.12
const besideSamples = besideS * workingRateHz
const straySteps = 10
/** A tone and nothing else leaves hardly anything: what is less than this share of it is not looked at. */
const leftShareMin = 1e-4

/**
 * The best place to cut the stretch in two, each with its own phase and amplitude of the tone.
 * @param working audio at the working rate, nothing taken out
 * @returns undefined where the stretch is too short
 */
export function lineJumpIn(
  working: Float32Array,
  { hz, strayHz, from, to }: JumpSearch,
): LineJump | undefined {
  const start = Math.max(0, Math.floor(from - besideSamples))
  const low = lowRate(working.subarray(start, Math.max(start, Math.ceil(to + besideSamples))))
  // A whole turn in each block, or nearly so: what has another frequency adds little.
  const size = Math.max(4, Math.round(lowRateHz / hz))
  const count = Math.floor(low.length / size)
  const beside = Math.ceil((besideS * lowRateHz) / size)
  if (count < 2 * beside + 1) return undefined
  let one = 0
  let best = { two: 0, at: 0, turn: 0, ratio: 1 }
  let all = 0
  for (let step = -straySteps; step <= straySteps; step++) {
    const { re, im, power } = turnedBack(low, size, hz + (strayHz * step) / straySteps)
    all = power
    const sumRe = runningSum(re)
    const sumIm = runningSum(im)
    const energy = (first: number, end: number): number =>
      ((sumRe[end]! - sumRe[first]!) ** 2 + (sumIm[end]! - sumIm[first]!) ** 2) / (end - first)
    one = Math.max(one, energy(0, count))
    for (let at = beside; at <= count - beside; at++) {
      const two = energy(0, at) + energy(at, count)
      if (two <= best.two) continue
      const [ar, ai] = [sumRe[at]!, sumIm[at]!]
      const [br, bi] = [sumRe[count]! - ar, sumIm[count]! - ai]
      const turn = Math.abs(Math.atan2(bi * ar - br * ai, br * ar + bi * ai)) / (2 * Math.PI)
      const ratio = (Math.hypot(br, bi) / (count - at) / (Math.hypot(ar, ai) + 1e-12)) * at
      best = { two, at, turn, ratio }
    }
  }
  return {
    atSample: start + best.at * size * lowDecimation,
    ...{ size: best.turn, ratio: best.ratio },
    explained: (best.two - one) / Math.max(leftShareMin * all, all - one, 1e-15),
  }
}

/** Means of blocks of the tone, turned back by its phase, and the power of them all. */
function turnedBack(low: Float32Array, size: number, hz: number) {
  const count = Math.floor(low.length / size)
  const re = new Float64Array(count)
  const im = new Float64Array(count)
  const step = (2 * Math.PI * hz) / lowRateHz
  let power = 0
  for (let block = 0; block < count; block++) {
    for (let n = block * size; n < (block + 1) * size; n++) {
      re[block]! += low[n]! * Math.cos(step * n)
      im[block]! -= low[n]! * Math.sin(step * n)
    }
    power += re[block]! ** 2 + im[block]! ** 2
  }
  return { re, im, power }
}

function runningSum(values: Float64Array): Float64Array {
  const sums = new Float64Array(values.length + 1)
  for (const [at, value] of values.entries()) sums[at + 1] = sums[at]! + value
  return sums
}
