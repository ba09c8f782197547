// What each tone is worth at a symbol, to a copy of a segment whose model is fitted: the log-likelihood
// (a Re(C exp(-j phase)) - a^2 / 2) / variance,  times the symbol's reliability. The phase depends on how many more spaces (or
// fewer, negative) a path has had than the path decided on before: it differs by that many slip angles.
import { type Burst, type BurstParameters, slipAngle } from './model.js'

/** A copy whose model is fitted; symbol k of all copies is the same one. */
export interface FittedCopy {
  readonly burst: Burst
  /** its tones are the other way round: its sender began with the other tone */
  readonly inverted: boolean
}

/** Spaces more or fewer that are followed. */
export const reach = 3
/** State `reach` has as many spaces as the path decided on. */
export const stateCount = 2 * reach + 1

/** How a copy's phase turns with the state, and its space tone's tilt. */
export interface TurnTable {
  readonly cosines: Float64Array
  readonly sines: Float64Array
  readonly tiltCos: number
  readonly tiltSin: number
}

/** A space more in the common path is a space less in an inverted copy. */
export function turnTable(parameters: BurstParameters, inverted: boolean): TurnTable {
  const slip = slipAngle(parameters) * (inverted ? -1 : 1)
  const angles = Float64Array.from({ length: stateCount }, (_, state) => slip * (state - reach))
  return {
    cosines: angles.map(Math.cos),
    sines: angles.map(Math.sin),
    tiltCos: Math.cos(parameters.tilt),
    tiltSin: Math.sin(parameters.tilt),
  }
}

/**
 * Adds a copy's log-likelihood of either tone at symbol k.
 * @param ofMark and ofSpace: by the state before the symbol
 */
export function addGains(
  burst: Burst,
  { cosines, sines, tiltCos, tiltSin }: TurnTable,
  k: number,
  ofMark: Float64Array,
  ofSpace: Float64Array,
): void {
  const { run, phaseRe, phaseIm, referenceRe, referenceIm, reliability, parameters } = burst
  const { markAmplitude, spaceAmplitude, variance } = parameters
  const cos = phaseRe[k]!
  const sin = phaseIm[k]!
  const re = cos * referenceRe[k]! - sin * referenceIm[k]!
  const im = sin * referenceRe[k]! + cos * referenceIm[k]!
  const markGain = (reliability[k]! * markAmplitude) / variance
  const spaceGain = (reliability[k]! * spaceAmplitude) / variance
  const mr = markGain * (run.markRe[k]! * re + run.markIm[k]! * im)
  const mi = markGain * (run.markIm[k]! * re - run.markRe[k]! * im)
  const ur = spaceGain * (run.spaceRe[k]! * re + run.spaceIm[k]! * im)
  const ui = spaceGain * (run.spaceIm[k]! * re - run.spaceRe[k]! * im)
  const sr = ur * tiltCos + ui * tiltSin
  const si = ui * tiltCos - ur * tiltSin
  const markEnergy = (markGain * markAmplitude) / 2
  const spaceEnergy = (spaceGain * spaceAmplitude) / 2
  for (let state = 0; state < stateCount; state++) {
    ofMark[state]! += mr * cosines[state]! + mi * sines[state]! - markEnergy
    ofSpace[state]! += sr * cosines[state]! + si * sines[state]! - spaceEnergy
  }
}
