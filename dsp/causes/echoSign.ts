// An echo: the audio once more, later. While a tone lasts it only changes that tone's strength; but for the echo's delay after each
// change of tones the tone before is still heard in it. So what the fit leaves then looks like the fitted signal, that much earlier.
import { workingRateHz } from '../modem/frontEnd/frontEnd.js'
import { fitPieces } from './pieceFits.js'
import type { SymbolView } from './symbolView.js'

export interface Echo {
  readonly delayMs: number
  /** amplitude over that of the direct signal; negative where it comes inverted */
  readonly gain: number
  /** share of what the fit leaves that the echo explains, 0 to 1 */
  readonly share: number
}

/** The best one, and all that were tried. */
export interface EchoSearch extends Echo {
  readonly tried: readonly Echo[]
}

/** Noise has 0.01 (trials); wrong decisions of a lopsided signal 0.02. */
export const echoShareMin = 0.03

/** Tried delays, working samples: 0.33 to 3 ms, in steps that the width of the band allows, then finer about the best. */
const delayMin = 4
const delayMax = 36
const delayStep = 2
/** Half a second shows an echo as well as more would. */
const samplesMax = 6000

/** @param from first sample looked at */
export function findEcho(
  view: SymbolView,
  fitted: Float32Array,
  residual: Float32Array,
  from: number,
  to: number,
): EchoSearch {
  const tried: Echo[] = []
  const end = Math.min(to, from + samplesMax)
  let own = 1e-30
  for (let at = from; at < end; at++) own += residual[at]! ** 2
  const tryDelay = (delay: number): Echo => {
    const late = new Float32Array(fitted.length)
    late.set(fitted.subarray(0, fitted.length - delay), delay)
    // What of the late signal a fit of the same tones could not take up.
    const shape = fitPieces(late, view, from, end).residual
    let product = 0
    let power = 1e-30
    for (let at = from; at < end; at++) {
      product += residual[at]! * shape[at]!
      power += shape[at]! ** 2
    }
    const echo = {
      delayMs: (1000 * delay) / workingRateHz,
      gain: product / power,
      share: product ** 2 / (power * own),
    }
    tried.push(echo)
    return echo
  }
  let best: Echo = { delayMs: 0, gain: 0, share: 0 }
  let bestDelay = delayMin
  for (let delay = delayMin; delay <= delayMax; delay += delayStep) {
    const one = tryDelay(delay)
    if (one.share <= best.share) continue
    best = one
    bestDelay = delay
  }
  for (const delay of [bestDelay - 1, bestDelay + 1]) {
    const one = tryDelay(delay)
    if (one.share > best.share) best = one
  }
  return { ...best, tried }
}
