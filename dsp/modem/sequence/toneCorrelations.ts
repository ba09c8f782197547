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
  /** cycles of the space tone in 60 samples, as it lies after the shift: 11 of 2200 Hz */
  readonly spaceCycles: number
  /** correlations are known below this position */
  end: number
  append(samples: Float32Array): void
}

export const correlationMask = mask

/**
 * @param shiftSteps the tones lie so many times 200 Hz higher: as if the audio had been shifted down by as much, so that
 *   everything behind works with tones where they belong
 * @param spreadSteps space lies so many times 200 Hz higher still: everything behind sees its phase run ahead
 */
export function createToneCorrelations(shiftSteps = 0, spreadSteps = 0): ToneCorrelations {
  const markRe = new Float32Array(capacity)
  const markIm = new Float32Array(capacity)
  const spaceRe = new Float32Array(capacity)
  const spaceIm = new Float32Array(capacity)
  const { cosines, sines } = oscillators(shiftSteps, spreadSteps)
  /** the last ten samples, to be taken off the sums again */
  const window = new Float64Array(symbolSamples)
  const sums = new Float64Array(4)
  let samplesSeen = 0
  let slot = 0
  let phase = 0
  // Unshifted, ten samples are one whole turn of the mark tone, so that the old product has the same factors.
  const markBefore = shiftSteps === 0 ? markTable : markTableBefore

  const append = (samples: Float32Array): void => {
    const { markRe, markIm, spaceRe, spaceIm } = ring
    let [a, b, c, d] = [sums[0]!, sums[1]!, sums[2]!, sums[3]!]
    let at = (samplesSeen - symbolSamples) & mask
    let [s, p] = [slot, phase]
    for (let index = 0; index < samples.length; index++) {
      const x = samples[index]!
      const old = window[s]!
      window[s] = x
      a += x * cosines[p]! - old * cosines[markBefore + p]!
      b -= x * sines[p]! - old * sines[markBefore + p]!
      c += x * cosines[spaceTable + p]! - old * cosines[spaceTableBefore + p]!
      d -= x * sines[spaceTable + p]! - old * sines[spaceTableBefore + p]!
      s = s === symbolSamples - 1 ? 0 : s + 1
      p = p === period - 1 ? 0 : p + 1
      at = (at + 1) & mask
      markRe[at] = a
      markIm[at] = b
      spaceRe[at] = c
      spaceIm[at] = d
    }
    samplesSeen += samples.length
    slot = s
    phase = p
    sums[0] = a
    sums[1] = b
    sums[2] = c
    sums[3] = d
    ring.end = Math.max(0, samplesSeen - symbolSamples + 1)
  }
  const ring: ToneCorrelations = {
    markRe,
    markIm,
    spaceRe,
    spaceIm,
    spaceCycles: nominalSpaceCycles + spreadSteps,
    end: 0,
    append,
  }
  return ring
}

/** Where the tones' periods stand in the oscillator tables, and the same a symbol earlier. */
const markTable = 0
const spaceTable = period
const markTableBefore = 2 * period
const spaceTableBefore = 3 * period

/** Cycles of the tones in one period. */
const markCycles = 6
const nominalSpaceCycles = 11

function oscillators(
  shiftSteps: number,
  spreadSteps: number,
): { cosines: Float64Array; sines: Float64Array } {
  const turns = (cycles: number, earlier: number): number[] =>
    Array.from(
      { length: period },
      (_, n) => ((cycles + shiftSteps) * (n + period - earlier)) / period,
    )
  const space = nominalSpaceCycles + spreadSteps
  const angles = Float64Array.from(
    [
      ...turns(markCycles, 0),
      ...turns(space, 0),
      ...turns(markCycles, symbolSamples),
      ...turns(space, symbolSamples),
    ],
    (turn) => 2 * Math.PI * (turn % 1),
  )
  return { cosines: angles.map(Math.cos), sines: angles.map(Math.sin) }
}

/**
 * Correlations of a run of symbols, one entry a symbol, each in the phase reference of its own start: the value of a
 * symbol's right tone has the phase that the signal had when the symbol began.
 */
export interface SymbolRun {
  /** start of the symbol, working samples */
  readonly startSample: Float64Array
  readonly markRe: Float64Array
  readonly markIm: Float64Array
  readonly spaceRe: Float64Array
  readonly spaceIm: Float64Array
}

export function createSymbolRun(length: number): SymbolRun {
  return {
    startSample: new Float64Array(length),
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
  // The tones have 6 and 11 cycles in this time: powers of one turn, since multiplying is quicker than sines.
  const c1 = Math.cos(angle)
  const s1 = Math.sin(angle)
  const c2 = c1 * c1 - s1 * s1
  const s2 = 2 * c1 * s1
  const c3 = c2 * c1 - s2 * s1
  const s3 = c2 * s1 + s2 * c1
  const c5 = c3 * c2 - s3 * s2
  const s5 = c3 * s2 + s3 * c2
  const mc = c3 * c3 - s3 * s3
  const ms = 2 * c3 * s3
  let sc = mc * c5 - ms * s5
  let ss = mc * s5 + ms * c5
  for (let cycle = nominalSpaceCycles; cycle < correlations.spaceCycles; cycle++) {
    const turned = sc * c1 - ss * s1
    ss = sc * s1 + ss * c1
    sc = turned
  }
  run.startSample[index] = position
  run.markRe[index] = mr * mc - mi * ms
  run.markIm[index] = mr * ms + mi * mc
  run.spaceRe[index] = sr * sc - si * ss
  run.spaceIm[index] = sr * ss + si * sc
}
