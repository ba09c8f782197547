// Quadrature correlators: the power of each tone in a window of one symbol that slides sample by sample.
// Model: noncoherent detection of orthogonal signals, J. G. Proakis, Digital Communications. Over one symbol the two
// tones are not quite orthogonal (correlation sinc(5/6)), which costs about 0.3 dB.
import { workingRateHz } from '../frontEnd/frontEnd.js'
import { markHz, spaceHz, symbolRateHz } from '../modulator.js'

/** Samples of one symbol at the working rate. */
export const samplesPerSymbol = workingRateHz / symbolRateHz

/** Powers at each sample, of the window of one symbol that ends with it; entries 0 to count - 1 are in use. */
export interface TonePowers {
  readonly count: number
  readonly mark: Float64Array
  readonly space: Float64Array
}

export interface CorrelatorBank {
  /**
   * @param narrow band-passed audio at the working rate
   * @returns powers, valid until the next call
   */
  process(narrow: Float32Array): TonePowers
  /** Starts afresh, with silence before the next sample. */
  reset(): void
}

export function createCorrelatorBank(): CorrelatorBank {
  const { markCosine, markSine, spaceCosine, spaceSine } = toneTables()
  // The products of the last symbol, to be taken off the sums again: four a sample.
  const window = new Float64Array(4 * samplesPerSymbol)
  const sums = new Float64Array(4)
  let tableAt = 0
  let windowAt = 0
  let mark = new Float64Array(0)
  let space = new Float64Array(0)
  return {
    process(narrow) {
      if (mark.length < narrow.length) {
        mark = new Float64Array(narrow.length)
        space = new Float64Array(narrow.length)
      }
      let [markRe, markIm, spaceRe, spaceIm] = [sums[0]!, sums[1]!, sums[2]!, sums[3]!]
      for (let index = 0; index < narrow.length; index++) {
        const sample = narrow[index]!
        const freshMarkRe = sample * markCosine[tableAt]!
        const freshMarkIm = sample * markSine[tableAt]!
        const freshSpaceRe = sample * spaceCosine[tableAt]!
        const freshSpaceIm = sample * spaceSine[tableAt]!
        markRe += freshMarkRe - window[windowAt]!
        markIm += freshMarkIm - window[windowAt + 1]!
        spaceRe += freshSpaceRe - window[windowAt + 2]!
        spaceIm += freshSpaceIm - window[windowAt + 3]!
        window[windowAt] = freshMarkRe
        window[windowAt + 1] = freshMarkIm
        window[windowAt + 2] = freshSpaceRe
        window[windowAt + 3] = freshSpaceIm
        if (++tableAt === tablePeriod) tableAt = 0
        windowAt += 4
        if (windowAt === window.length) windowAt = 0
        mark[index] = markRe * markRe + markIm * markIm
        space[index] = spaceRe * spaceRe + spaceIm * spaceIm
      }
      sums[0] = markRe
      sums[1] = markIm
      sums[2] = spaceRe
      sums[3] = spaceIm
      return { count: narrow.length, mark, space }
    },
    reset() {
      window.fill(0)
      sums.fill(0)
    },
  }
}

/** Length in which both tones repeat exactly: 1200 Hz every 10 samples, 2200 Hz every 60. */
const tablePeriod = 60

function toneTables() {
  const table = (of: (phase: number) => number, toneHz: number): Float64Array =>
    Float64Array.from({ length: tablePeriod }, (_, index) =>
      of((2 * Math.PI * toneHz * index) / workingRateHz),
    )
  return {
    markCosine: table(Math.cos, markHz),
    markSine: table(Math.sin, markHz),
    spaceCosine: table(Math.cos, spaceHz),
    spaceSine: table(Math.sin, spaceHz),
  }
}
