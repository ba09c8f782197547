// The signal model of a segment of symbols, and what of it can be fitted when the tones are (nearly) known.
//
// A symbol k of tone b has the correlation  C_b[k] = a_b exp(j (phase[k] + reference[k] + tilt_b)) + noise, where phase[k]
// adds up the steps of the tones before it, reference[k] is a slow residual, and the tilt of the space tone is what the
// audio path (or a left-over timing error) turns one tone against the other.
import { addPoint, emptyLine, fitLine } from '../../numbers/lineFit.js'
import { spaceTurn } from '../sequence/phaseStep.js'
import { createSymbolRun, type SymbolRun } from '../sequence/toneCorrelations.js'

/** Longest segment that can be fitted, symbols: 2.9 s, a frame of 400 octets with its inserted zeros. */
export const burstSymbolsMax = 3500

/** Parameters that hold for the whole segment. */
export interface BurstParameters {
  /** phase that a mark symbol adds beyond its nominal turn, radians */
  markStep: number
  /** the same for space, beyond spaceTurn */
  spaceStep: number
  /** phase of the space tone against the mark tone beside the phase that runs through, radians */
  tilt: number
  markAmplitude: number
  spaceAmplitude: number
  /** variance of a correlation, each of its two parts */
  variance: number
}

/** Working memory of a fit; made once, entries 0 to count - 1 are in use. */
export interface Burst {
  count: number
  readonly run: SymbolRun
  /** tones decided on, 1 mark */
  readonly tones: Uint8Array
  /** the tuning wanders: each symbol turns the phase by exp(j drift) beyond its tone's step */
  isDrifting: boolean
  readonly driftRe: Float64Array
  readonly driftIm: Float64Array
  /** exp(j phase), the phase being the sum of the steps up to each symbol */
  readonly phaseRe: Float64Array
  readonly phaseIm: Float64Array
  /** correlation of the decided tone with phase and tilt taken out */
  readonly residualRe: Float64Array
  readonly residualIm: Float64Array
  /** exp(j reference) */
  readonly referenceRe: Float64Array
  readonly referenceIm: Float64Array
  /** of each symbol: 1, down to 0 where noise is louder than elsewhere */
  readonly reliability: Float64Array
  /** one symbol, for trying other positions */
  readonly probe: SymbolRun
  readonly parameters: BurstParameters
}

export function createBurst(): Burst {
  const column = (): Float64Array => new Float64Array(burstSymbolsMax)
  return {
    count: 0,
    run: createSymbolRun(burstSymbolsMax),
    tones: new Uint8Array(burstSymbolsMax),
    isDrifting: false,
    driftRe: column(),
    driftIm: column(),
    phaseRe: column(),
    phaseIm: column(),
    residualRe: column(),
    residualIm: column(),
    referenceRe: column(),
    referenceIm: column(),
    reliability: column(),
    probe: createSymbolRun(1),
    parameters: {
      markStep: 0,
      spaceStep: 0,
      tilt: 0,
      markAmplitude: 1,
      spaceAmplitude: 1,
      variance: 1,
    },
  }
}

/** Phase between the tones' turns in one symbol, about -60 degrees: what one more space in the past changes. */
export function slipAngle({ markStep, spaceStep }: BurstParameters): number {
  return spaceTurn - 4 * Math.PI + spaceStep - markStep
}

/** Fills phase and residual from tones and parameters. */
export function takeOutPhase(burst: Burst): void {
  const { count, run, tones, phaseRe, phaseIm, residualRe, residualIm } = burst
  const { isDrifting, driftRe, driftIm } = burst
  const { markStep, spaceStep, tilt } = burst.parameters
  const markStepRe = Math.cos(markStep)
  const markStepIm = Math.sin(markStep)
  const spaceStepRe = Math.cos(spaceTurn + spaceStep)
  const spaceStepIm = Math.sin(spaceTurn + spaceStep)
  const tiltRe = Math.cos(tilt)
  const tiltIm = Math.sin(tilt)
  // A pointer that turns by the step of each tone: no sines, and over the longest segment its error stays below 1e-12.
  let re = 1
  let im = 0
  for (let k = 0; k < count; k++) {
    phaseRe[k] = re
    phaseIm[k] = im
    let turnedRe: number
    if (tones[k] === 1) {
      residualRe[k] = run.markRe[k]! * re + run.markIm[k]! * im
      residualIm[k] = run.markIm[k]! * re - run.markRe[k]! * im
      turnedRe = re * markStepRe - im * markStepIm
      im = re * markStepIm + im * markStepRe
    } else {
      const cos = re * tiltRe - im * tiltIm
      const sin = re * tiltIm + im * tiltRe
      residualRe[k] = run.spaceRe[k]! * cos + run.spaceIm[k]! * sin
      residualIm[k] = run.spaceIm[k]! * cos - run.spaceRe[k]! * sin
      turnedRe = re * spaceStepRe - im * spaceStepIm
      im = re * spaceStepIm + im * spaceStepRe
    }
    re = turnedRe
    if (isDrifting) {
      turnedRe = re * driftRe[k]! - im * driftIm[k]!
      im = re * driftIm[k]! + im * driftRe[k]!
      re = turnedRe
    }
  }
}

/** Symbols between the two ends of a product that shows the step. */
const lag = 8

/**
 * Corrects the steps by products over eight symbols, sorted by the number of marks in between: their angles lie on a
 * straight line, whose middle is the mean correction and whose slope the difference of mark and space.
 * @param apart fit the difference too; needs mostly right tones
 */
export function fitSteps(burst: Burst, apart: boolean): void {
  const { count, tones, residualRe, residualIm, parameters } = burst
  const re = new Float64Array(lag + 1)
  const im = new Float64Array(lag + 1)
  let marks = 0
  for (let k = 0; k < Math.min(lag, count); k++) marks += tones[k]!
  for (let k = 0; k + lag < count; k++) {
    const late = k + lag
    re[marks]! += residualRe[late]! * residualRe[k]! + residualIm[late]! * residualIm[k]!
    im[marks]! += residualIm[late]! * residualRe[k]! - residualRe[late]! * residualIm[k]!
    marks += tones[late]! - tones[k]!
  }
  const base = Math.atan2(sum(im), sum(re))
  let mean = 0
  let slope = 0
  if (apart) {
    const cos = Math.cos(base)
    const sin = Math.sin(base)
    const line = emptyLine()
    for (let at = 0; at <= lag; at++) {
      const x = re[at]! * cos + im[at]! * sin
      const y = im[at]! * cos - re[at]! * sin
      addPoint(line, at / lag - 0.5, Math.atan2(y, x), Math.sqrt(x * x + y * y))
    }
    // Held back, for products that nearly all have the same share of marks.
    ;({ offset: mean, slope } = fitLine(line, 0.02))
  }
  parameters.markStep += (base + mean + slope / 2) / lag
  parameters.spaceStep += (base + mean - slope / 2) / lag
}

/** Corrects the tilt: changes from mark to space and from space to mark show it with opposite signs. */
export function fitTilt(burst: Burst): void {
  const { count, tones, residualRe, residualIm, parameters } = burst
  let toSpaceRe = 1e-12
  let toSpaceIm = 0
  let toMarkRe = 1e-12
  let toMarkIm = 0
  for (let k = 1; k < count; k++) {
    if (tones[k] === tones[k - 1]) continue
    const re = residualRe[k]! * residualRe[k - 1]! + residualIm[k]! * residualIm[k - 1]!
    const im = residualIm[k]! * residualRe[k - 1]! - residualRe[k]! * residualIm[k - 1]!
    if (tones[k] === 0) {
      toSpaceRe += re
      toSpaceIm += im
    } else {
      toMarkRe += re
      toMarkIm += im
    }
  }
  const angle = (Math.atan2(toSpaceIm, toSpaceRe) - Math.atan2(toMarkIm, toMarkRe)) / 2
  parameters.tilt += 0.8 * Math.max(-0.5, Math.min(0.5, angle))
}

/** Amplitude of each tone along the reference, and the variance across it. */
export function fitAmplitudes(burst: Burst): void {
  const {
    count,
    tones,
    residualRe,
    residualIm,
    referenceRe,
    referenceIm,
    reliability,
    parameters,
  } = burst
  const along = [0, 0]
  const trust = [1e-9, 1e-9]
  let across = 0
  for (let k = 0; k < count; k++) {
    const tone = tones[k]!
    const w = reliability[k]!
    const y = residualIm[k]! * referenceRe[k]! - residualRe[k]! * referenceIm[k]!
    along[tone]! += w * (residualRe[k]! * referenceRe[k]! + residualIm[k]! * referenceIm[k]!)
    trust[tone]! += w
    across += w * y * y
  }
  const space = Math.max(1e-9, along[0]! / trust[0]!)
  const mark = Math.max(1e-9, along[1]! / trust[1]!)
  const mean = Math.sqrt((mark * mark + space * space) / 2)
  parameters.markAmplitude = Math.max(mark, weakestShare * mean)
  parameters.spaceAmplitude = Math.max(space, weakestShare * mean)
  parameters.variance = across / (trust[0]! + trust[1]!) + 1e-4 * mean * mean
}

/** A tone is not taken for weaker than this share of the mean amplitude, -14 dB. */
const weakestShare = 0.2

function sum(values: Float64Array): number {
  let total = 0
  for (let at = 0; at < values.length; at++) total += values[at]!
  return total
}
