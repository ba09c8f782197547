import FFT from 'fft.js'
import { powerDb } from '../numbers/power.js'

/** A row covers 0 to 4 kHz in so many steps. */
export const rowBins = 144
export const rowSpanHz = 4000
export const rowsPerSecond = 8
/** The lowest level that an octet can say, and the step from one to the next. */
const rowFloorDbfs = -127.5
const rowStepDb = 0.5

/** One row of a running spectrum. */
export interface SpectrumRow {
  /** octet k: the strongest line from k to k + 1 times 27.8 Hz; 0 is -127.5 dBFS or less, each step 0.5 dB more */
  readonly levels: Uint8Array
  /** samples of the stream up to its end */
  readonly endSample: number
}

/** Makes rows of a stream: eight a second, however the stream is cut into blocks. */
export interface SpectrumRows {
  push(block: Float32Array): SpectrumRow[]
}

/**
 * Windows of the shortest power of two that tells two steps apart, overlapping by half, averaged over the eighth of a second.
 * @param sampleRateHz 8000 to 192000
 * @see P. D. Welch, The Use of Fast Fourier Transform for the Estimation of Power Spectra, 1967
 */
export function createSpectrumRows(sampleRateHz: number): SpectrumRows {
  const size = 2 ** Math.ceil(Math.log2((sampleRateHz * rowBins) / rowSpanHz))
  const rowSamples = Math.max(size, Math.round(sampleRateHz / rowsPerSecond))
  const fft = new FFT(size)
  const window = Float64Array.from(
    { length: size },
    (_, n) => 0.5 - 0.5 * Math.cos((2 * Math.PI * n) / size),
  )
  // A sine of amplitude 1 shows as -3.01 dBFS, its RMS level.
  const scale = 2 / window.reduce((total, value) => total + value, 0) ** 2
  const kept = new Float32Array(rowSamples)
  const input = new Float64Array(size)
  const output = fft.createComplexArray()
  const power = new Float64Array(size / 2 + 1)
  let filled = 0
  let endSample = 0

  const row = (): Uint8Array => {
    power.fill(0)
    const windowCount = Math.floor((2 * rowSamples) / size) - 1
    for (let at = 0; at < windowCount; at++) {
      for (let n = 0; n < size; n++) input[n] = window[n]! * kept[(at * size) / 2 + n]!
      fft.realTransform(output, input)
      for (let bin = 0; bin <= size / 2; bin++)
        power[bin]! += (output[2 * bin]! ** 2 + output[2 * bin + 1]! ** 2) / windowCount
    }
    const binHz = sampleRateHz / size
    const levels = new Uint8Array(rowBins)
    for (let step = 0; step < rowBins; step++) {
      const from = Math.ceil((step * rowSpanHz) / rowBins / binHz)
      const to = Math.min(size / 2, Math.ceil(((step + 1) * rowSpanHz) / rowBins / binHz) - 1)
      let strongest = 0
      for (let bin = from; bin <= to; bin++) strongest = Math.max(strongest, power[bin]!)
      levels[step] = rowOctet(powerDb(scale * strongest))
    }
    return levels
  }

  return {
    push(block) {
      const rows: SpectrumRow[] = []
      for (let at = 0; at < block.length; ) {
        const count = Math.min(rowSamples - filled, block.length - at)
        kept.set(block.subarray(at, at + count), filled)
        filled += count
        at += count
        endSample += count
        if (filled < rowSamples) break
        rows.push({ levels: row(), endSample })
        filled = 0
      }
      return rows
    },
  }
}

const rowOctet = (dbfs: number): number =>
  Math.max(0, Math.min(255, Math.round((dbfs - rowFloorDbfs) / rowStepDb)))
