// Sines that are known to be there, taken out of the audio by least squares: what else was wrong shows then.
import type { Gap } from './audioSigns.js'

/** A whole number of turns of 50, 60, 100 and 120 Hz, so that these do not disturb each other; and short enough to follow them. */
const windowS = 0.2
/** Shorter ones make no difference. */
const silenceS = 0.03

/**
 * @param silences where no audio came: no window holds both silence and sines
 * @returns the samples without these sines; of each, its share within every window is taken out
 */
export function takeOutLines(
  samples: Float32Array,
  linesHz: readonly number[],
  sampleRateHz: number,
  silences: readonly Gap[] = [],
): Float32Array {
  const left = samples.slice()
  const size = Math.round(windowS * sampleRateHz)
  const takeOutBetween = (from: number, end: number): void => {
    // The last window reaches to the end.
    const count = Math.max(1, Math.floor((end - from) / size))
    for (let window = 0; window < count; window++) {
      const to = window === count - 1 ? end : from + (window + 1) * size
      for (const hz of linesHz) takeOut(left.subarray(from + window * size, to), hz, sampleRateHz)
    }
  }
  let from = 0
  for (const { firstSample, lastSample } of silences) {
    if (lastSample - firstSample < silenceS * sampleRateHz) continue
    takeOutBetween(from, Math.max(from, Math.round(firstSample)))
    from = Math.round(lastSample)
  }
  takeOutBetween(Math.min(from, samples.length), samples.length)
  return left
}

function takeOut(samples: Float32Array, hz: number, sampleRateHz: number): void {
  const step = (2 * Math.PI * hz) / sampleRateHz
  const [stepRe, stepIm] = [Math.cos(step), Math.sin(step)]
  let [cc, ss, cs, cx, sx] = [1e-12, 1e-12, 0, 0, 0]
  let [c, s] = [1, 0]
  for (let n = 0; n < samples.length; n++) {
    const x = samples[n]!
    cc += c * c
    ss += s * s
    cs += c * s
    cx += c * x
    sx += s * x
    const turned = c * stepRe - s * stepIm
    s = c * stepIm + s * stepRe
    c = turned
  }
  const determinant = cc * ss - cs * cs
  if (determinant <= 0) return
  const a = (cx * ss - sx * cs) / determinant
  const b = (sx * cc - cx * cs) / determinant
  c = 1
  s = 0
  for (let n = 0; n < samples.length; n++) {
    samples[n]! -= a * c + b * s
    const turned = c * stepRe - s * stepIm
    s = c * stepIm + s * stepRe
    c = turned
  }
}
