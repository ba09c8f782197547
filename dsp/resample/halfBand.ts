// Half the sample rate, cheaply: in a half-band filter every second tap is zero but for the middle one, and the rest mirror
// each other, so that a filter of 11 taps takes three multiplications and the middle one.
// F. J. Harris, Multirate Signal Processing for Communication Systems, on half-band filters and cascades of them (from memory).
import { designKaiser, kaiserWindow, sinc } from './kaiser.js'
import type { RateChange } from './rateChange.js'

/**
 * A stream at half its rate: output sample k stands for input sample 2 k.
 * @param passbandShare of the input rate, up to which nothing folds back; above 0, below 0.25
 */
export function createHalfBandDecimator(passbandShare: number, attenuationDb: number): RateChange {
  const taps = designTaps(passbandShare, attenuationDb)
  const kernel = taps.length === 3 ? threePairs : taps.length === 6 ? sixPairs : anyPairs
  const reach = 2 * taps.length - 1
  // Samples not yet done with; zeros stand before the stream.
  const buffer = new Float64Array(2 * reach + chunkSamples)
  let output = new Float32Array(0)
  let filled = reach
  /** where in the buffer the next output's middle lies */
  let middle = reach

  /** Outputs whose taps lie in the buffer, with so many more samples in it. */
  const outputsAfter = (count: number): number =>
    Math.max(0, (filled + count - reach - middle + 1) >> 1)

  const advance = (chunk: Float32Array, outputAt: number): number => {
    buffer.set(chunk, filled)
    filled += chunk.length
    const outputCount = outputsAfter(0)
    kernel(taps, buffer, middle, output, outputAt, outputCount)
    const next = middle + 2 * outputCount
    const keepFrom = Math.min(filled, next - reach)
    buffer.copyWithin(0, keepFrom, filled)
    filled -= keepFrom
    middle = next - keepFrom
    return outputAt + outputCount
  }

  const run = (block: Float32Array): Float32Array => {
    const count = outputsAfter(block.length)
    if (output.length < count) output = new Float32Array(count)
    let at = 0
    for (let start = 0; start < block.length; start += chunkSamples)
      at = advance(block.subarray(start, start + chunkSamples), at)
    return output.subarray(0, count)
  }

  return {
    process: run,
    flush: () => run(new Float32Array(reach)),
    delaySamples: reach,
  }
}

const chunkSamples = 4096

/** Writes `count` outputs from output[at] on; the first has its middle at `centre`, each further one two samples later. */
type Kernel = (
  taps: Float64Array,
  samples: Float64Array,
  centre: number,
  output: Float32Array,
  at: number,
  count: number,
) => void

// Written out for the usual lengths: a loop over pairs takes more time than their arithmetic.
const threePairs: Kernel = (taps, samples, centre, output, at, count) => {
  const [t0, t1, t2] = [taps[0]!, taps[1]!, taps[2]!]
  for (let index = 0; index < count; index++) {
    const n = centre + 2 * index
    output[at + index] =
      0.5 * samples[n]! +
      t0 * (samples[n - 1]! + samples[n + 1]!) +
      t1 * (samples[n - 3]! + samples[n + 3]!) +
      t2 * (samples[n - 5]! + samples[n + 5]!)
  }
}

const sixPairs: Kernel = (taps, samples, centre, output, at, count) => {
  const [t0, t1, t2, t3, t4, t5] = [taps[0]!, taps[1]!, taps[2]!, taps[3]!, taps[4]!, taps[5]!]
  for (let index = 0; index < count; index++) {
    const n = centre + 2 * index
    output[at + index] =
      0.5 * samples[n]! +
      t0 * (samples[n - 1]! + samples[n + 1]!) +
      t1 * (samples[n - 3]! + samples[n + 3]!) +
      t2 * (samples[n - 5]! + samples[n + 5]!) +
      t3 * (samples[n - 7]! + samples[n + 7]!) +
      t4 * (samples[n - 9]! + samples[n + 9]!) +
      t5 * (samples[n - 11]! + samples[n + 11]!)
  }
}

const anyPairs: Kernel = (taps, samples, centre, output, at, count) => {
  for (let index = 0; index < count; index++) {
    const n = centre + 2 * index
    let sum = 0.5 * samples[n]!
    for (let pair = 0; pair < taps.length; pair++)
      sum += taps[pair]! * (samples[n - 2 * pair - 1]! + samples[n + 2 * pair + 1]!)
    output[at + index] = sum
  }
}

/** Taps at the distances 1, 3, 5 ... from the middle one, which is a half; a multiple of three, for the kernels. */
function designTaps(passbandShare: number, attenuationDb: number): Float64Array {
  const { beta, halfWidth } = designKaiser(attenuationDb, 0.5 - 2 * passbandShare)
  const pairs = 3 * Math.ceil(halfWidth / 6)
  const taps = Float64Array.from({ length: pairs }, (_, pair) => {
    const distance = 2 * pair + 1
    return sinc(distance / 2) * kaiserWindow(distance / (2 * pairs), beta)
  })
  // A steady level stays what it is: the middle tap gives one half of it, these the other.
  const sum = taps.reduce((total, tap) => total + tap, 0)
  return taps.map((tap) => tap / (4 * sum))
}
