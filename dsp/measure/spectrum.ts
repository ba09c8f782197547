import FFT from 'fft.js'
import { powerDb } from '../numbers/power.js'

/** Power at each frequency from 0 to half the sample rate. */
export interface Spectrum {
  /** distance of two neighbouring values */
  readonly binHz: number
  /** a sine of amplitude a that falls on a bin shows there as 20 log10(a) - 3.01: its RMS level in dBFS */
  readonly levelsDbfs: Float64Array
  /** mean power a Hz, one-sided, dBFS/Hz: what white noise shows independently of `size` */
  readonly densityDbfsPerHz: Float64Array
}

export interface SpectrumOptions {
  readonly sampleRateHz: number
  /** power of two from 64 to 65536 */
  readonly size: number
}

/**
 * Averaged power spectrum: windows of `size` samples that overlap by half, each under a Hann window.
 * @param samples at least `size`; a shorter signal is padded with zeros
 * @throws RangeError for a size that is no power of two
 * @see P. D. Welch, The Use of Fast Fourier Transform for the Estimation of Power Spectra, 1967; window constants:
 * F. J. Harris, On the Use of Windows for Harmonic Analysis with the DFT, 1978
 */
export function measureSpectrum(samples: Float32Array, options: SpectrumOptions): Spectrum {
  const { sampleRateHz, size } = options
  if (!(Number.isInteger(Math.log2(size)) && size >= 64 && size <= 65_536))
    throw new RangeError(`spectrum: got a size of ${size}, expected a power of two, 64 to 65536`)
  const window = Float64Array.from(
    { length: size },
    (_, n) => 0.5 - 0.5 * Math.cos((2 * Math.PI * n) / size),
  )
  const power = averagePower(samples, window)
  const sum = window.reduce((total, value) => total + value, 0)
  const squares = window.reduce((total, value) => total + value * value, 0)
  // One-sided: what lies at negative frequencies counts too, but for 0 and half the sample rate.
  const sides = (bin: number): number => (bin === 0 || bin === size / 2 ? 1 : 2)
  return {
    binHz: sampleRateHz / size,
    levelsDbfs: power.map((value, bin) => powerDb((sides(bin) * value) / (sum * sum))),
    densityDbfsPerHz: power.map((value, bin) =>
      powerDb((sides(bin) * value) / (squares * sampleRateHz)),
    ),
  }
}

function averagePower(samples: Float32Array, window: Float64Array): Float64Array {
  const size = window.length
  const fft = new FFT(size)
  const input = new Float64Array(size)
  const output = fft.createComplexArray()
  const power = new Float64Array(size / 2 + 1)
  const windowCount = Math.max(1, Math.floor((2 * samples.length) / size) - 1)
  for (let at = 0; at < windowCount; at++) {
    for (let n = 0; n < size; n++) input[n] = window[n]! * (samples[(at * size) / 2 + n] ?? 0)
    fft.realTransform(output, input)
    for (let bin = 0; bin <= size / 2; bin++)
      power[bin]! += (output[2 * bin]! ** 2 + output[2 * bin + 1]! ** 2) / windowCount
  }
  return power
}
