// What every part of the sequence detector works on: for each working sample n, the complex correlation of the ten samples
// from n on with each tone, x[n + i] exp(-j w (n + i)) summed over i = 0..9. One symbol lasts ten samples, so at the right n
// these are the matched-filter outputs of the two tones. The oscillators run through (they are not restarted at n), so a
// steady tone gives a steady value, which may be interpolated between samples.

/** Working samples of one symbol at 1200 baud. */
export const symbolSamples = 10

/** Positions kept: 5.4 s, more than the longest frame that is gone over twice. */
const capacity = 2 ** 16
const mask = capacity - 1

/** Oscillator periods at 12 kHz: 1200 Hz takes 10 samples, 2200 Hz takes 60 (11 cycles). */
const period = 60

/** Correlations by position; read them with `position & correlationMask`. */
export interface ToneCorrelations {
  readonly markRe: Float32Array
  readonly markIm: Float32Array
  readonly spaceRe: Float32Array
  readonly spaceIm: Float32Array
  /** correlations are known below this position */
  end: number
  append(samples: Float32Array): void
}

export const correlationMask = mask

export function createToneCorrelations(): ToneCorrelations {
  const markRe = new Float32Array(capacity)
  const markIm = new Float32Array(capacity)
  const spaceRe = new Float32Array(capacity)
  const spaceIm = new Float32Array(capacity)
  const { cosines, sines } = oscillators()
  // Products of the last ten samples, to be taken off the sums again.
  const products = new Float64Array(4 * symbolSamples)
  const sums = new Float64Array(4)
  let samplesSeen = 0
  let slot = 0
  let phase = 0

  const append = (samples: Float32Array): void => {
    let a = sums[0]!
    let b = sums[1]!
    let c = sums[2]!
    let d = sums[3]!
    let seen = samplesSeen
    for (let index = 0; index < samples.length; index++) {
      const x = samples[index]!
      const mr = x * cosines[phase]!
      const mi = -x * sines[phase]!
      const sr = x * cosines[period + phase]!
      const si = -x * sines[period + phase]!
      a += mr - products[slot]!
      b += mi - products[slot + 1]!
      c += sr - products[slot + 2]!
      d += si - products[slot + 3]!
      products[slot] = mr
      products[slot + 1] = mi
      products[slot + 2] = sr
      products[slot + 3] = si
      slot = slot === 36 ? 0 : slot + 4
      phase = phase === period - 1 ? 0 : phase + 1
      seen++
      const at = (seen - symbolSamples) & mask
      if (seen >= symbolSamples) {
        markRe[at] = a
        markIm[at] = b
        spaceRe[at] = c
        spaceIm[at] = d
      }
    }
    samplesSeen = seen
    sums[0] = a
    sums[1] = b
    sums[2] = c
    sums[3] = d
    ring.end = Math.max(0, samplesSeen - symbolSamples + 1)
  }
  const ring: ToneCorrelations = { markRe, markIm, spaceRe, spaceIm, end: 0, append }
  return ring
}

function oscillators(): { cosines: Float64Array; sines: Float64Array } {
  const cosines = new Float64Array(2 * period)
  const sines = new Float64Array(2 * period)
  for (let phase = 0; phase < period; phase++) {
    const mark = (2 * Math.PI * ((6 * phase) % period)) / period
    const space = (2 * Math.PI * ((11 * phase) % period)) / period
    cosines[phase] = Math.cos(mark)
    sines[phase] = Math.sin(mark)
    cosines[period + phase] = Math.cos(space)
    sines[period + phase] = Math.sin(space)
  }
  return { cosines, sines }
}

/**
 * Correlations of a run of symbols, one entry a symbol, each in the phase reference of its own start: the value of a
 * symbol's right tone has the phase that the signal had when the symbol began.
 */
export interface SymbolRun {
  /** start of the symbol, working samples */
  readonly position: Float64Array
  readonly markRe: Float64Array
  readonly markIm: Float64Array
  readonly spaceRe: Float64Array
  readonly spaceIm: Float64Array
}

export function createSymbolRun(length: number): SymbolRun {
  return {
    position: new Float64Array(length),
    markRe: new Float64Array(length),
    markIm: new Float64Array(length),
    spaceRe: new Float64Array(length),
    spaceIm: new Float64Array(length),
  }
}

/** Fills one entry of a run with the correlations at any position, interpolated linearly between samples. */
export function sampleSymbol(
  correlations: ToneCorrelations,
  position: number,
  run: SymbolRun,
  index: number,
): void {
  const whole = Math.min(Math.max(Math.floor(position), 0), correlations.end - 2)
  const part = Math.min(1, Math.max(0, position - whole))
  const at = whole & mask
  const next = (whole + 1) & mask
  const { markRe, markIm, spaceRe, spaceIm } = correlations
  const mr = markRe[at]! + part * (markRe[next]! - markRe[at]!)
  const mi = markIm[at]! + part * (markIm[next]! - markIm[at]!)
  const sr = spaceRe[at]! + part * (spaceRe[next]! - spaceRe[at]!)
  const si = spaceIm[at]! + part * (spaceIm[next]! - spaceIm[at]!)
  const turns = position / period
  const angle = 2 * Math.PI * (turns - Math.floor(turns))
  const mc = Math.cos(6 * angle)
  const ms = Math.sin(6 * angle)
  const sc = Math.cos(11 * angle)
  const ss = Math.sin(11 * angle)
  run.position[index] = position
  run.markRe[index] = mr * mc - mi * ms
  run.markIm[index] = mr * ms + mi * mc
  run.spaceRe[index] = sr * sc - si * ss
  run.spaceIm[index] = sr * ss + si * sc
}
