// The band in which the tones lie, 800 to 2600 Hz, for what decides symbol by symbol: correlators without it need 1.7 dB more.
import { kaiserWindow, sinc } from '../../resample/kaiser.js'
import { workingRateHz } from './frontEnd.js'

/** Streams through the band-pass, without a shift in time. */
export interface BandPass {
  /**
   * @param samples at the working rate
   * @returns what became complete, bandPassReach samples behind the input at most; valid until the next call
   */
  process(samples: Float32Array): Float32Array
  /** Starts afresh: zeros stand before the next sample. */
  reset(): void
}

/** The filter reaches this many samples to both sides of a moment. */
export const bandPassReach = 12

export function createBandPass(): BandPass {
  let joined = new Float64Array(2 * bandPassReach)
  let output = new Float32Array(0)
  /** samples at the start of `joined` that the next outputs still need */
  let kept = bandPassReach
  return {
    process(samples) {
      const total = kept + samples.length
      if (joined.length < total) {
        const larger = new Float64Array(total)
        larger.set(joined.subarray(0, kept))
        joined = larger
        output = new Float32Array(total)
      }
      joined.set(samples, kept)
      const count = Math.max(0, total - 2 * bandPassReach)
      filterInto(output, joined, 1, count)
      joined.copyWithin(0, count, total)
      kept = total - count
      return output.subarray(0, count)
    },
    reset() {
      joined.fill(0)
      kept = bandPassReach
    },
  }
}

/**
 * The band-pass by itself. It gives every second sample: the band lies below a quarter of the working rate, so they hold
 * all of it.
 * @param padded samples, with bandPassReach zeros (or more samples) before and after them
 * @param output as many as are wanted
 */
export function bandPassHalved(padded: Float64Array, output: Float64Array): void {
  filterInto(output, padded, 2, output.length)
}

/** Power that the band-pass leaves of white noise of power 1. */
export const bandPassNoiseGain = (): number => taps.reduce((sum, tap) => sum + tap * tap, 0)

/** 2 ms long: longer ones smear symbols into each other, shorter ones let more noise through (found by trial on white noise). */
const windowBeta = 2
const taps = designBandPass(800, 2600, 2 * bandPassReach + 1)

function designBandPass(lowHz: number, highHz: number, length: number): Float64Array {
  const half = (length - 1) / 2
  const middleHz = (lowHz + highHz) / 2
  const width = (highHz - lowHz) / workingRateHz
  const shape = Float64Array.from({ length }, (_, tap) => {
    const distance = tap - half
    const window = kaiserWindow(distance / (half + 1), windowBeta)
    return (
      sinc(width * distance) *
      window *
      Math.cos((2 * Math.PI * middleHz * distance) / workingRateHz)
    )
  })
  const gain = shape.reduce(
    (sum, tap, index) =>
      sum + tap * Math.cos((2 * Math.PI * middleHz * (index - half)) / workingRateHz),
    0,
  )
  return shape.map((tap) => tap / gain)
}

/** The first half of the taps and the middle one; the second half mirrors the first. */
const tapsHalf = [...taps.subarray(0, 13)] as unknown as ThirteenTaps
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
  count: number,
): void {
  const [t0, t1, t2, t3, t4, t5, t6, t7, t8, t9, t10, t11, t12] = tapsHalf
  for (let k = 0, n = 0; k < count; k++, n += stride)
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
