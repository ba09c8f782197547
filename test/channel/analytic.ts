import FFT from 'fft.js'

/**
 * The analytic signal: the audio as real part, its Hilbert transform as imaginary part, by leaving out negative frequencies.
 * @see A. V. Oppenheim, R. W. Schafer, Discrete-Time Signal Processing, on discrete Hilbert transforms (from memory)
 */
export function analytic(audio: Float32Array): { re: Float64Array; im: Float64Array } {
  const size = 2 ** Math.ceil(Math.log2(audio.length + 1024))
  const fft = new FFT(size)
  const spectrum = fft.createComplexArray()
  const padded = new Array<number>(size).fill(0)
  audio.forEach((sample, n) => {
    padded[n] = sample
  })
  fft.realTransform(spectrum, padded)
  // The first half holds the positive frequencies; 0 and half the rate count once.
  for (let bin = 1; bin < size / 2; bin++) {
    spectrum[2 * bin]! *= 2
    spectrum[2 * bin + 1]! *= 2
  }
  spectrum.fill(0, size + 2)
  const signal = fft.createComplexArray()
  fft.inverseTransform(signal, spectrum)
  return {
    re: Float64Array.from(audio, (_, n) => signal[2 * n]!),
    im: Float64Array.from(audio, (_, n) => signal[2 * n + 1]!),
  }
}
