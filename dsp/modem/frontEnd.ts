import { kaiserWindow, sinc } from '../resample/kaiser.js'
import { createResampler } from '../resample/resampler.js'
import { createImpulseLimiter } from './impulseLimiter.js'

/** Rate at which detectors work: ten samples a symbol at 1200 baud. */
export const workingRateHz = 12_000

/** Audio at the working rate; both arrays are equally long, and equal indices are the same moment. */
export interface WorkingBlock {
  /** 0 to 3.3 kHz, as it came in */
  readonly wide: Float32Array
  /** 800 to 2600 Hz: what the detectors see */
  readonly narrow: Float32Array
}

/** Resampling and band-pass in front of all detectors. Sample k stands for the input moment k * sampleRateHz / workingRateHz. */
export interface FrontEnd {
  process(block: Float32Array): WorkingBlock
  /** the rest, at the end of a stream */
  flush(): WorkingBlock
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
  // The filter reaches this far to both sides of a moment.
  const half = (bandPassTaps.length - 1) / 2
  // Wide samples that the filter still needs; zeros stand before the stream.
  let pending = new Float64Array(half)

  const filter = (fresh: Float32Array): WorkingBlock => {
    const joined = new Float64Array(pending.length + fresh.length)
    joined.set(pending)
    joined.set(fresh, pending.length)
    const count = Math.max(0, joined.length - 2 * half)
    const narrow = new Float32Array(count)
    filterInto(narrow, joined, 1)
    pending = joined.slice(count)
    return { wide: new Float32Array(joined.subarray(half, half + count)), narrow }
  }

  return {
    process: (block) => filter(finite(resampler.process(limiter.process(block)))),
    flush() {
      const rest = finite(resampler.flush())
      const padded = new Float32Array(rest.length + half)
      padded.set(rest)
      return filter(padded)
    },
  }
}

/**
 * The detectors' band-pass by itself, for signals that are to be compared with what they saw; zeros stand around it.
 * @returns every second sample: the band lies below a quarter of the working rate, so they hold all of it
 */
export function bandPassHalved(samples: Float64Array): Float64Array {
  const half = (bandPassTaps.length - 1) / 2
  const padded = new Float64Array(samples.length + 2 * half)
  padded.set(samples, half)
  const output = new Float64Array(Math.ceil(samples.length / 2))
  filterInto(output, padded, 2)
  return output
}

/** Power that the band-pass leaves of white noise of power 1. */
export const bandPassNoiseGain = (): number => bandPassTaps.reduce((sum, tap) => sum + tap * tap, 0)

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

/** 2 ms long: longer ones smear symbols into each other, shorter ones let more noise through (found by trial on white noise). */
const bandPassBeta = 2
const bandPassTaps = designBandPass(800, 2600, 25)

function designBandPass(lowHz: number, highHz: number, length: number): Float64Array {
  const half = (length - 1) / 2
  const middleHz = (lowHz + highHz) / 2
  const width = (highHz - lowHz) / workingRateHz
  const taps = Float64Array.from({ length }, (_, tap) => {
    const distance = tap - half
    const window = kaiserWindow(distance / (half + 1), bandPassBeta)
    return (
      sinc(width * distance) *
      window *
      Math.cos((2 * Math.PI * middleHz * distance) / workingRateHz)
    )
  })
  const gain = taps.reduce(
    (sum, tap, index) =>
      sum + tap * Math.cos((2 * Math.PI * middleHz * (index - half)) / workingRateHz),
    0,
  )
  return taps.map((tap) => tap / gain)
}

/** The first half of the taps and the middle one; the second half mirrors the first. */
const bandPassHalf = [...bandPassTaps.subarray(0, 13)] as unknown as ThirteenTaps
type Four = [number, number, number, number]
type ThirteenTaps = readonly [...Four, ...Four, ...Four, number]

/**
 * Output k covers the 25 samples from k * stride on. Linear phase: the taps are symmetric, so each pair of samples is multiplied once.
 * Written out because the front end and the measuring of frames spend much of their time here.
 */
function filterInto(
  output: Float32Array | Float64Array,
  samples: Float64Array,
  stride: number,
): void {
  const [t0, t1, t2, t3, t4, t5, t6, t7, t8, t9, t10, t11, t12] = bandPassHalf
  for (let k = 0, n = 0; k < output.length; k++, n += stride)
    output[k] =
      t0 * (samples[n]! + samples[n + 24]!) +
      t1 * (samples[n + 1]! + samples[n + 23]!) +
      t2 * (samples[n + 2]! + samples[n + 22]!) +
      t3 * (samples[n + 3]! + samples[n + 21]!) +
      t4 * (samples[n + 4]! + samples[n + 20]!) +
      t5 * (samples[n + 5]! + samples[n + 19]!) +
      t6 * (samples[n + 6]! + samples[n + 18]!) +
      t7 * (samples[n + 7]! + samples[n + 17]!) +
      t8 * (samples[n + 8]! + samples[n + 16]!) +
      t9 * (samples[n + 9]! + samples[n + 15]!) +
      t10 * (samples[n + 10]! + samples[n + 14]!) +
      t11 * (samples[n + 11]! + samples[n + 13]!) +
      t12 * samples[n + 12]!
}
