import { createResampler } from '../../resample/resampler.js'
import { createHighPass } from './highPass.js'
import { createImpulseLimiter } from './impulseLimiter.js'

/** Rate at which detectors work: ten samples a symbol at 1200 baud. */
export const workingRateHz = 12_000

/**
 * What stands in front of all detectors: clicks and what lies below the band taken out, resampled to the working rate, up to
 * 3.3 kHz. A broken source may deliver NaN, which running sums would never forget: silence stands in for it.
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
  const limiter = createImpulseLimiter(sampleRateHz)
  const resampler = createResampler({
    fromHz: sampleRateHz,
    toHz: workingRateHz,
    passbandHz: Math.min(3300, 0.41 * sampleRateHz),
  })
  const highPass = createHighPass()
  return {
    process: (block) => highPass.process(resampler.process(limiter.process(block))),
    flush: () =>
      joined(
        // Copies: each stage gives out the same memory again.
        highPass.process(resampler.process(limiter.flush())).slice(),
        highPass.process(resampler.flush()).slice(),
        highPass.flush(),
      ),
  }
}

function joined(...parts: readonly Float32Array[]): Float32Array {
  return Float32Array.from(parts.flatMap((part) => [...part]))
}
