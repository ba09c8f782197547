// Second pass over a segment that looks like a frame: the model of model.ts fitted to all of it at once, tones decided
// anew, and again. What the first pass could only guess from a window (timing, phase steps, amplitudes, phase) is known here
// from the whole frame, so detection comes within a few tenths of a dB of a coherent receiver's.

import { addPoint, emptyLine, fitLine } from '../../numbers/lineFit.js'
import {
  type SymbolRun,
  sampleSymbol,
  symbolSamples,
  type ToneCorrelations,
} from '../sequence/toneCorrelations.js'
import { coherentDecision, type DecisionRecord } from './decision.js'
import { findDrift, refineDrift } from './drift.js'
import {
  type Burst,
  burstSymbolsMax,
  fitAmplitudes,
  fitSteps,
  fitTilt,
  takeOutPhase,
} from './model.js'
import { fitReference } from './reference.js'

/** Rounds of fitting and deciding; a fourth changes nothing (found by trial). */
const rounds = 3
/** Rounds that also move the timing. */
const timingRounds = 2

/** Difference of the first pass's phase steps, radians, from which on they are fitted apart with its uncertain tones too. */
const apartFromStart = 0.08

/** What the first pass knows about a segment. */
export interface FirstGuess {
  /** symbols, read at `k & mask` */
  readonly run: SymbolRun
  readonly mask: number
  readonly firstSymbol: number
  readonly symbolCount: number
  /** tones by the same index */
  readonly tones: Uint8Array
  readonly markStep: number
  readonly spaceStep: number
  /** it begins with a signal, perhaps too late for all of the opening flag to be heard */
  readonly startsWithSignal: boolean
}

/**
 * Shares of the tones that a decision may change, by round. Where the first one changes more, or the second still changes
 * much, the tones are guesses: of 2007 segments, none and one of 533 with a frame in them were beyond these, and 14 % of
 * the others.
 */
const changeMax = [0.08, 0.06] as const

/**
 * Fits the burst; its tones, parameters, reference and weights are then the best that were found.
 * @returns false when it gave up, because there is no signal that the model fits
 */
export function fitBurst(
  burst: Burst,
  record: DecisionRecord,
  correlations: ToneCorrelations,
  guess: FirstGuess,
): boolean {
  load(burst, correlations, guess)
  findDrift(burst)
  for (let round = 0; round < rounds; round++) {
    const apart = round > 0 || Math.abs(guess.markStep - guess.spaceStep) > apartFromStart
    if (round > 0 && burst.isDrifting) refineDrift(burst)
    refitPhase(burst, apart)
    if (round < timingRounds && fitTiming(burst, correlations)) refitPhase(burst, apart)
    fitAmplitudes(burst)
    setReliabilities(burst)
    const changeAllowed = changeMax[round]
    if (
      changeAllowed !== undefined &&
      coherentDecision(burst, record) > changeAllowed * burst.count
    )
      return false
  }
  return true
}

function load(burst: Burst, correlations: ToneCorrelations, guess: FirstGuess): void {
  const { firstSymbol: first, symbolCount: count, mask, tones } = guess
  if (count > burstSymbolsMax) throw new RangeError(`burst: got ${count} symbols`)
  burst.count = count
  burst.isDrifting = false
  const { parameters } = burst
  parameters.markStep = guess.markStep
  parameters.spaceStep = guess.spaceStep
  parameters.tilt = 0
  burst.reliability.fill(1, 0, count)
  const line = straightTiming(guess)
  for (let k = 0; k < count; k++) {
    burst.tones[k] = tones[(first + k) & mask]!
    sampleSymbol(correlations, line.start + line.length * k, burst.run, k)
  }
}

/** @param apart fit the difference of the phase steps too */
export function refitPhase(burst: Burst, apart: boolean): void {
  takeOutPhase(burst)
  fitSteps(burst, apart)
  takeOutPhase(burst)
  if (apart) {
    fitTilt(burst)
    takeOutPhase(burst)
  }
  fitReference(burst)
}

/** Deviation, in samples, at which an estimate of the first pass counts half. */
const timingTolerance = 0.4

/** A sender's symbols come at even intervals: a robust straight line through the first pass's positions. */
export function straightTiming({
  run,
  mask,
  firstSymbol: first,
  symbolCount: count,
}: Pick<FirstGuess, 'run' | 'mask' | 'firstSymbol' | 'symbolCount'>): {
  start: number
  length: number
} {
  const origin = run.startSample[first & mask]!
  const deviation = (k: number): number =>
    run.startSample[(first + k) & mask]! - origin - symbolSamples * k
  let offset = 0
  let slope = 0
  for (let round = 0; round < 4; round++) {
    const line = emptyLine()
    for (let k = 0; k < count; k++) {
      const x = k - count / 2
      const y = deviation(k)
      const miss = round === 0 ? 0 : (y - offset - slope * x) / timingTolerance
      addPoint(line, x, y, 1 / (1 + miss * miss))
    }
    ;({ offset, slope } = fitLine(line))
  }
  return { start: origin + offset - (slope * count) / 2, length: symbolSamples + slope }
}

/** Positions before and after a symbol's at which the fit is tried, samples. */
const probeStep = 1.5
const timingBlock = 32
const timingMoveMax = 2
/** Drift that one round may correct, samples a symbol: 0.1 %. */
const timingDriftMax = 0.01

/**
 * Moves the symbols to where the decided tones fit best: in blocks, the peak of a parabola through three positions, and
 * through these peaks a straight line. Returns false when there is nothing to go by.
 */
function fitTiming(burst: Burst, correlations: ToneCorrelations): boolean {
  const { count, run } = burst
  const line = emptyLine()
  for (let from = 0; from + timingBlock <= count; from += timingBlock) {
    const before = fitAt(burst, correlations, from, -probeStep)
    const here = fitAt(burst, correlations, from, 0)
    const after = fitAt(burst, correlations, from, probeStep)
    const bend = 2 * here - before - after
    if (bend <= 0) continue
    const peak = (0.5 * (after - before) * probeStep) / bend
    const y = Math.max(-timingMoveMax, Math.min(timingMoveMax, peak))
    addPoint(line, from + timingBlock / 2 - count / 2, y, bend)
  }
  if (line.weight <= 0) return false
  const drift = fitLine(line).slope
  const slope = Math.max(-timingDriftMax, Math.min(timingDriftMax, drift))
  const offset = (line.y - slope * line.x) / line.weight
  for (let k = 0; k < count; k++)
    sampleSymbol(correlations, run.startSample[k]! + offset + slope * (k - count / 2), run, k)
  return true
}

/** Sum along the reference of a block's decided tones, taken some samples later. */
function fitAt(burst: Burst, correlations: ToneCorrelations, from: number, later: number): number {
  const { run, tones, phaseRe, phaseIm, referenceRe, referenceIm, probe, parameters } = burst
  const markTurn = (2 * Math.PI * later) / symbolSamples
  const spaceTurnLater = (markTurn * correlations.spaceCycles) / 6 + parameters.tilt
  const markCos = Math.cos(markTurn)
  const markSin = Math.sin(markTurn)
  const spaceCos = Math.cos(spaceTurnLater)
  const spaceSin = Math.sin(spaceTurnLater)
  let sum = 0
  for (let k = from; k < from + timingBlock; k++) {
    sampleSymbol(correlations, run.startSample[k]! + later, probe, 0)
    const mark = tones[k] === 1
    const turnCos = mark ? markCos : spaceCos
    const turnSin = mark ? markSin : spaceSin
    const re = mark ? probe.markRe[0]! : probe.spaceRe[0]!
    const im = mark ? probe.markIm[0]! : probe.spaceIm[0]!
    const cos = phaseRe[k]! * turnCos - phaseIm[k]! * turnSin
    const sin = phaseRe[k]! * turnSin + phaseIm[k]! * turnCos
    sum += (re * cos + im * sin) * referenceRe[k]! + (im * cos - re * sin) * referenceIm[k]!
  }
  return sum
}

/** Residual power, in variances, up to which a symbol is fully trusted: noise alone seldom exceeds it. */
const residualTolerated = 6

/**
 * Trust in each symbol. A correlation that lies far from all points that the model allows was hit by a click, a fade or
 * another station; what stands out of the noise, averaged with its neighbours, counts as additional noise.
 */
export function setReliabilities(burst: Burst): void {
  const { count, reliability, parameters } = burst
  const { variance, tilt } = parameters
  const tiltCos = Math.cos(tilt)
  const tiltSin = Math.sin(tilt)
  let before = residual(burst, 0, tiltCos, tiltSin)
  let here = before
  for (let k = 0; k < count; k++) {
    const after = k + 1 < count ? residual(burst, k + 1, tiltCos, tiltSin) : here
    const mean = (before + 2 * here + after) / 4
    const excess = mean - residualTolerated * variance
    reliability[k] = excess > 0 ? variance / (variance + excess / 3) : 1
    before = here
    here = after
  }
}

/** Squared distance of symbol k from the nearest point of either tone, the other tone's power taken as noise. */
function residual(burst: Burst, k: number, tiltCos: number, tiltSin: number): number {
  const { run, phaseRe, phaseIm, referenceRe, referenceIm, parameters } = burst
  const cos = phaseRe[k]!
  const sin = phaseIm[k]!
  const re = cos * referenceRe[k]! - sin * referenceIm[k]!
  const im = sin * referenceRe[k]! + cos * referenceIm[k]!
  const mr = run.markRe[k]! * re + run.markIm[k]! * im
  const mi = run.markIm[k]! * re - run.markRe[k]! * im
  const ur = run.spaceRe[k]! * re + run.spaceIm[k]! * im
  const ui = run.spaceIm[k]! * re - run.spaceRe[k]! * im
  const sr = ur * tiltCos + ui * tiltSin
  const si = ui * tiltCos - ur * tiltSin
  const { markAmplitude, spaceAmplitude } = parameters
  const markPower = mr * mr + mi * mi
  const spacePower = sr * sr + si * si
  const mark =
    nearestPoint(mr, mi, markAmplitude) + Math.max(0, spacePower - leak * markAmplitude ** 2)
  const space =
    nearestPoint(sr, si, spaceAmplitude) + Math.max(0, markPower - leak * spaceAmplitude ** 2)
  return Math.min(mark, space)
}

/** Power of a tone in the other's correlator: sinc(5/6)^2. */
const leak = 0.04
const sixthRe = 0.5
const sixthIm = Math.sqrt(3) / 2

/** Squared distance to the nearest of the six points that one amplitude has, 60 degrees apart; the first lies at 0. */
function nearestPoint(re: number, im: number, amplitude: number): number {
  // Mirrored into the first quadrant, it is the point at 0 or the one at 60 degrees.
  const x = Math.abs(re)
  const y = Math.abs(im)
  const along = Math.max(x, x * sixthRe + y * sixthIm)
  return re * re + im * im + amplitude * (amplitude - 2 * along)
}
