// Short and loud: clicks of ignition and switches, crashes. Looked for in what the fitted signal leaves of the audio, before the
// front end took clicks out.

/** A run of samples far above the noise, at the working rate. */
export interface Burst {
  readonly firstSample: number
  readonly lastSample: number
}

/** Gaussian noise exceeds this, in standard deviations, once in 500 million samples. */
const heightMin = 6
/** And over the amplitude of the signal, so that where the fit is wrong it is not taken for one. */
const amplitudesMin = 2.5
/** What is closer together than 2 ms is one. */
const apartSamples = 24
/** The deviation of Gaussian noise over its median magnitude. */
const perMedian = 1.4826

/** Standard deviation of what stands between bursts. */
export function deviationBetween(residual: Float32Array, from: number, to: number): number {
  const sizes = residual.slice(from, to).map(Math.abs).toSorted()
  return perMedian * (sizes[sizes.length >> 1] ?? 0)
}

/**
 * @param deviation of the noise, from deviationBetween
 * @param amplitude of the stronger tone
 */
export function burstsIn(
  residual: Float32Array,
  from: number,
  to: number,
  deviation: number,
  amplitude: number,
): Burst[] {
  const limit = Math.max(heightMin * deviation, amplitudesMin * amplitude)
  const bursts: Burst[] = []
  for (let at = from; at < to; at++) {
    if (Math.abs(residual[at]!) <= limit) continue
    const last = bursts.at(-1)
    if (last !== undefined && at - last.lastSample < apartSamples)
      bursts[bursts.length - 1] = { ...last, lastSample: at }
    else bursts.push({ firstSample: at, lastSample: at })
  }
  return bursts
}
