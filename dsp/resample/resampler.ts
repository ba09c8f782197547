import { createHalfBandDecimator } from './halfBand.js'
import { createPolyphase } from './polyphase.js'
import type { RateChange } from './rateChange.js'

export interface ResamplerOptions {
  /** whole number from 1000 to 400000 */
  readonly fromHz: number
  /** whole number from 1000 to 400000 */
  readonly toHz: number
  /**
   * Up to here the response is flat and free of aliases; above, it falls, and what folds back stays above this.
   * Default and most: 0.4 and 0.45 of the lower rate. The lower, the cheaper.
   */
  readonly passbandHz?: number
}

/**
 * Resampler between any two rates: halved as long as the rate is twice too high or more, which is cheapest there, and
 * the rest in one polyphase step.
 * @throws RangeError for rates or a pass band out of range
 * @see R. E. Crochiere, L. R. Rabiner, Multirate Digital Signal Processing, for both structures
 */
export function createResampler(options: ResamplerOptions): RateChange {
  const fromHz = checkRate(options.fromHz)
  const toHz = checkRate(options.toHz)
  const passbandHz = checkPassband(options)
  const stages: RateChange[] = []
  let rateHz = fromHz
  for (; rateHz % 2 === 0 && rateHz >= 2 * toHz; rateHz /= 2)
    stages.push(createHalfBandDecimator(passbandHz / rateHz, attenuationDb))
  if (rateHz !== toHz || stages.length === 0)
    stages.push(createPolyphase({ fromHz: rateHz, toHz, passbandHz, attenuationDb }))
  return stages.length === 1 ? stages[0]! : cascade(stages, fromHz, toHz)
}

/** One stage after the other; their outputs are at the same moments as long as each keeps to its own. */
function cascade(stages: readonly RateChange[], fromHz: number, toHz: number): RateChange {
  let received = 0
  let given = 0
  const through = (block: Float32Array, from: number): Float32Array =>
    stages.slice(from).reduce((samples, stage) => stage.process(samples), block)
  return {
    process(block) {
      received += block.length
      const output = through(block, 0)
      given += output.length
      return output
    },
    flush() {
      const rest = stages.flatMap((stage, at) => [...through(stage.flush(), at + 1)])
      // Each stage rounds its count up.
      return Float32Array.from(rest.slice(0, Math.ceil((received * toHz) / fromHz) - given))
    },
    delaySamples: stages.reduce((sum, stage, at) => sum + stage.delaySamples * 2 ** at, 0),
  }
}

/** Of aliases and images, and of the ripple in the pass band. */
const attenuationDb = 60

function checkRate(rateHz: number): number {
  if (!(Number.isInteger(rateHz) && rateHz >= 1000 && rateHz <= 400_000))
    throw new RangeError(`resampler: got ${rateHz} Hz, expected a whole number from 1000 to 400000`)
  return rateHz
}

function checkPassband({ fromHz, toHz, passbandHz }: ResamplerOptions): number {
  const lowerHz = Math.min(fromHz, toHz)
  const wantedHz = passbandHz ?? 0.4 * lowerHz
  if (!(wantedHz > 0 && wantedHz <= 0.45 * lowerHz))
    throw new RangeError(
      `resampler: got a pass band of ${wantedHz} Hz from ${fromHz} to ${toHz} Hz, expected up to ${0.45 * lowerHz} Hz`,
    )
  return wantedHz
}
