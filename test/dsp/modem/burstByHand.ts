// A burst of random correlations with known parameters, and what a tone is worth in it by definition.
import { gaussian } from '../../../dsp/channel/gaussian.js'
import { type Burst, createBurst, takeOutPhase } from '../../../dsp/modem/secondPass/model.js'
import { seededRandom } from '../../../src/runtime/random.js'

const [markAmplitude, spaceAmplitude, variance] = [1.2, 0.8, 0.3]

/** 2200 Hz turns 11/6 times in a symbol, 1200 Hz once. */
export const spaceTurnRadians = (2 * Math.PI * 11) / 6

/** @param tones taken for decided */
export function burstOf(tones: readonly number[], seed: number): Burst {
  const burst = createBurst()
  const draw = gaussian(seededRandom(seed))
  const { run } = burst
  burst.count = tones.length
  Object.assign(burst.parameters, { markAmplitude, spaceAmplitude, variance })
  for (let k = 0; k < tones.length; k++) {
    for (const column of [run.markRe, run.markIm, run.spaceRe, run.spaceIm]) column[k] = draw()
    burst.tones[k] = tones[k]!
    burst.reliability[k] = k % 5 === 0 ? 0.5 : 1
    burst.referenceRe[k] = 1
    burst.referenceIm[k] = 0
  }
  takeOutPhase(burst)
  return burst
}

/** Log-likelihood of a tone at symbol k that begins with a phase: (a Re(C exp(-j phase)) - a^2 / 2) / variance, as far as it is reliable. */
export function likelihoodOf({ run, reliability }: Burst, k: number, tone: number, phase: number) {
  const isMark = tone === 1
  const a = isMark ? markAmplitude : spaceAmplitude
  const re = (isMark ? run.markRe : run.spaceRe)[k]!
  const im = (isMark ? run.markIm : run.spaceIm)[k]!
  const along = re * Math.cos(phase) + im * Math.sin(phase)
  return (reliability[k]! * (a * along - (a * a) / 2)) / variance
}
