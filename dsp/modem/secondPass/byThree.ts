// Tones decided by blocks of three symbols: the phase runs on from one to the next, and of the eight sequences the one along
// which most of the power lies is taken. It needs the phase steps and nothing else, so it works at any place of a segment.
import { spaceTurn } from '../sequence/phaseStep.js'
import type { SymbolRun } from '../sequence/toneCorrelations.js'

/** Phase steps of the tones beyond the nominal ones, radians a symbol. */
export interface PhaseSteps {
  readonly markStep: number
  readonly spaceStep: number
}

/** What takes the turn of space (0) and mark (1) back out of the symbols after it. */
export interface Turns {
  readonly re: readonly [number, number]
  readonly im: readonly [number, number]
}

export const turnsOf = ({ markStep, spaceStep }: PhaseSteps): Turns => ({
  re: [Math.cos(spaceTurn + spaceStep), Math.cos(markStep)],
  im: [-Math.sin(spaceTurn + spaceStep), -Math.sin(markStep)],
})

/** What is decided on, by symbol. */
export interface DecidedByThree {
  /** 1 mark */
  readonly tones: Uint8Array
  /** share of three symbols' power along the best sequence; noise has 0.4 */
  readonly shares: Float64Array
  /** how far mark leads over space, in amplitudes of the local power: about -1 to 1 */
  readonly leads?: Float32Array
}

/** Decides on symbols 1 to count - 2; the ends take their neighbours' tones. */
export function decideByThree(
  run: SymbolRun,
  count: number,
  turns: Turns,
  { tones, shares, leads }: DecidedByThree,
): void {
  const { markRe, markIm, spaceRe, spaceIm } = run
  const powerAt = (k: number): number =>
    markRe[k]! ** 2 + markIm[k]! ** 2 + spaceRe[k]! ** 2 + spaceIm[k]! ** 2
  for (let k = 1; k < count - 1; k++) {
    const space = largestSum(run, k, turns, 0)
    const mark = largestSum(run, k, turns, 1)
    const power = 3 * (powerAt(k - 1) + powerAt(k) + powerAt(k + 1)) + 1e-12
    tones[k] = mark > space ? 1 : 0
    shares[k] = Math.max(mark, space) / power
    if (leads !== undefined) leads[k] = (Math.sqrt(mark) - Math.sqrt(space)) / Math.sqrt(power)
  }
  tones[0] = tones[1]!
  tones[count - 1] = tones[count - 2]!
}

/** Largest |sum|^2 of the four sequences of three symbols about k with a tone in the middle. */
function largestSum(
  { markRe, markIm, spaceRe, spaceIm }: SymbolRun,
  k: number,
  { re: turnRe, im: turnIm }: Turns,
  middle: 0 | 1,
): number {
  const yr = middle ? markRe[k]! : spaceRe[k]!
  const yi = middle ? markIm[k]! : spaceIm[k]!
  let best = 0
  for (let first = 0; first < 2; first++) {
    const ur = turnRe[first]!
    const ui = turnIm[first]!
    const xr = (first ? markRe[k - 1]! : spaceRe[k - 1]!) + yr * ur - yi * ui
    const xi = (first ? markIm[k - 1]! : spaceIm[k - 1]!) + yr * ui + yi * ur
    const vr = ur * turnRe[middle] - ui * turnIm[middle]
    const vi = ur * turnIm[middle] + ui * turnRe[middle]
    for (let third = 0; third < 2; third++) {
      const zr = third ? markRe[k + 1]! : spaceRe[k + 1]!
      const zi = third ? markIm[k + 1]! : spaceIm[k + 1]!
      const re = xr + zr * vr - zi * vi
      const im = xi + zr * vi + zi * vr
      best = Math.max(best, re * re + im * im)
    }
  }
  return best
}
