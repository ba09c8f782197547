import { createResampler } from '../../resample/resampler.js'
import { createImpulseLimiter } from './impulseLimiter.js'

/** Rate at which detectors work: ten samples a symbol at 1200 baud. */
export const workingRateHz = 12_000

/**
 * What stands in front of all detectors: clicks limited, resampled to the working rate, 0 to 3.3 kHz.
 * Sample k stands for the input moment k * sampleRateHz / workingRateHz.
 */
export interface FrontEnd {
  process(block: Float32Array): Float32Array
  /** the rest, at the end of a stream */
  flush(): Float32Array
}

/**
 * @param sampleRateHz 8000 to 192000
 * @throws RangeError for another rate
 */
export function createFrontEnd(sampleRateHz: number): FrontEnd {
  if (!(sampleRateHz >= 8000 && sampleRateHz <= 192_000))
    throw new RangeError(`front end: got ${sampleRateHz} Hz, expected 8000 to 192000 Hz`)
  const resampler = createResampler({
    fromHz: sampleRateHz,
    toHz: workingRateHz,
    passbandHz: Math.min(3300, 0.41 * sampleRateHz),
  })
  const limiter = createImpulseLimiter(sampleRateHz)
  return {
    process: (block) => finite(resampler.process(limiter.process(block))),
    flush: () => finite(resampler.flush()),
  }
}

/**
 * A broken source may deliver NaN, which the running sums of the detectors would never forget: silence stands in for it.
 * The resampler itself forgets, so that its output is soon enough to look at.
 */
function finite(block: Float32Array): Float32Array {
  for (let index = 0; index < block.length; index++)
    if (!(Math.abs(block[index]!) <= largestSample))
      return block.map((sample) => (Math.abs(sample) <= largestSample ? sample : 0))
  return block
}

/** Far beyond full scale, and small enough that squares and sums stay finite. */
const largestSample = 1e6
