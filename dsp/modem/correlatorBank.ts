// Quadrature correlators: the power of each tone in a window of one symbol that slides sample by sample.
// Model: noncoherent detection of orthogonal signals, J. G. Proakis, Digital Communications. Over one symbol the two
// tones are not quite orthogonal (correlation sinc(5/6)), which costs about 0.3 dB.
import { workingRateHz } from './frontEnd.js'
import { markHz, spaceHz, symbolRateHz } from './modulator.js'

/** Samples of one symbol at the working rate. */
export const samplesPerSymbol = workingRateHz / symbolRateHz

/** Powers at each sample, of the window of one symbol that ends with it. */
export interface TonePowers {
  readonly mark: Float64Array
  readonly space: Float64Array
}

export interface CorrelatorBank {
  /** @param narrow band-passed audio at the working rate */
  process(narrow: Float32Array): TonePowers
}

export function createCorrelatorBank(): CorrelatorBank {
  const mark = createSlidingCorrelator(markHz)
  const space = createSlidingCorrelator(spaceHz)
  return { process: (narrow) => ({ mark: mark(narrow), space: space(narrow) }) }
}

/** Length in which both tones repeat exactly: 1200 Hz every 10 samples, 2200 Hz every 60. */
const tablePeriod = 60

function createSlidingCorrelator(toneHz: number): (narrow: Float32Array) => Float64Array {
  const cosine = new Float64Array(tablePeriod)
  const sine = new Float64Array(tablePeriod)
  for (let index = 0; index < tablePeriod; index++) {
    cosine[index] = Math.cos((2 * Math.PI * toneHz * index) / workingRateHz)
    sine[index] = Math.sin((2 * Math.PI * toneHz * index) / workingRateHz)
  }
  const windowRe = new Float64Array(samplesPerSymbol)
  const windowIm = new Float64Array(samplesPerSymbol)
  let sumRe = 0
  let sumIm = 0
  let tableAt = 0
  let windowAt = 0
  return (narrow) => {
    const powers = new Float64Array(narrow.length)
    for (let index = 0; index < narrow.length; index++) {
      const re = narrow[index]! * cosine[tableAt]!
      const im = narrow[index]! * sine[tableAt]!
      sumRe += re - windowRe[windowAt]!
      sumIm += im - windowIm[windowAt]!
      windowRe[windowAt] = re
      windowIm[windowAt] = im
      if (++tableAt === tablePeriod) tableAt = 0
      if (++windowAt === samplesPerSymbol) windowAt = 0
      powers[index] = sumRe * sumRe + sumIm * sumIm
    }
    return powers
  }
}
