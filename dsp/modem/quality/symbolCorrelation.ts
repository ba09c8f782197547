import { workingRateHz } from '../frontEnd/frontEnd.js'

/** Where the symbols of a frame lie in a segment of audio at the working rate. */
export interface SymbolTiming {
  /** start of the first symbol, in samples */
  readonly startSample: number
  readonly samplesPerSymbol: number
}

export interface ToneFrequencies {
  readonly markHz: number
  readonly spaceHz: number
}

/** Running sums of audio times one tone: the correlation over any window is the difference of two of them. */
export interface ToneSums {
  readonly toneHz: number
  /** samples of the audio */
  readonly count: number
  /** element n sums samples 0 to n - 1, up to n = count; there may be unused elements behind */
  readonly re: Float64Array
  readonly im: Float64Array
}

/** Complex correlations, one a symbol. */
export interface SymbolCorrelations {
  readonly re: Float64Array
  readonly im: Float64Array
}

/** @param into the arrays of these may be used again for the result; made anew when they are too short or missing */
export function toneSums(audio: Float32Array, toneHz: number, into?: ToneSums): ToneSums {
  const count = audio.length
  const fits = into !== undefined && into.re.length > count
  const re = fits ? into.re : new Float64Array(count + 1)
  const im = fits ? into.im : new Float64Array(count + 1)
  sumUp(audio, (2 * Math.PI * toneHz) / workingRateHz, re, im)
  return { toneHz, count, re, im }
}

/** @param step of the tone's phase, radians a sample */
function sumUp(audio: Float32Array, step: number, re: Float64Array, im: Float64Array): void {
  const stepRe = Math.cos(step)
  const stepIm = -Math.sin(step)
  // A turning pointer instead of a cosine for each sample: its error stays below 1e-12 over the longest frame.
  let pointerRe = 1
  let pointerIm = 0
  let sumRe = 0
  let sumIm = 0
  for (let index = 0; index < audio.length; index++) {
    const sample = audio[index]!
    sumRe += sample * pointerRe
    sumIm += sample * pointerIm
    re[index + 1] = sumRe
    im[index + 1] = sumIm
    const turnedRe = pointerRe * stepRe - pointerIm * stepIm
    pointerIm = pointerRe * stepIm + pointerIm * stepRe
    pointerRe = turnedRe
  }
}

/** |correlation|^2 over the window from `from` to `to`, in fractions of samples. */
export function windowPower(sums: ToneSums, from: number, to: number): number {
  const re = between(sums.re, sums.count, to) - between(sums.re, sums.count, from)
  const im = between(sums.im, sums.count, to) - between(sums.im, sums.count, from)
  return re * re + im * im
}

/**
 * Each symbol's correlation with its own tone, against a phase-continuous reference modulated with the same symbols:
 * for a signal that keeps to the reference they all have the same phase, but for a constant between the tones.
 * @param into at least as long as `levels`; made anew unless given
 */
export function correlateSymbols(
  mark: ToneSums,
  space: ToneSums,
  levels: Uint8Array,
  timing: SymbolTiming,
  into: SymbolCorrelations = emptyCorrelations(levels.length),
): SymbolCorrelations {
  const { re, im } = into
  // Each tone's running sums started with phase 0 at sample 0. What turns them to the reference stands still while that
  // tone is sent, and turns by the difference of the two tones over one symbol while the other one is.
  const { re: spaceStartRe, im: spaceStartIm } = pointerAt(space, timing.startSample)
  const { re: markStartRe, im: markStartIm } = pointerAt(mark, timing.startSample)
  let spaceRe = spaceStartRe
  let spaceIm = spaceStartIm
  let markRe = markStartRe
  let markIm = markStartIm
  const turn =
    (2 * Math.PI * (space.toneHz - mark.toneHz) * timing.samplesPerSymbol) / workingRateHz
  const turnRe = Math.cos(turn)
  const turnIm = Math.sin(turn)
  for (let symbol = 0; symbol < levels.length; symbol++) {
    const from = timing.startSample + symbol * timing.samplesPerSymbol
    const to = from + timing.samplesPerSymbol
    if (levels[symbol] === 1) {
      const windowRe = between(mark.re, mark.count, to) - between(mark.re, mark.count, from)
      const windowIm = between(mark.im, mark.count, to) - between(mark.im, mark.count, from)
      re[symbol] = windowRe * markRe + windowIm * markIm
      im[symbol] = windowIm * markRe - windowRe * markIm
      const turnedRe = spaceRe * turnRe + spaceIm * turnIm
      spaceIm = spaceIm * turnRe - spaceRe * turnIm
      spaceRe = turnedRe
    } else {
      const windowRe = between(space.re, space.count, to) - between(space.re, space.count, from)
      const windowIm = between(space.im, space.count, to) - between(space.im, space.count, from)
      re[symbol] = windowRe * spaceRe + windowIm * spaceIm
      im[symbol] = windowIm * spaceRe - windowRe * spaceIm
      const turnedRe = markRe * turnRe - markIm * turnIm
      markIm = markIm * turnRe + markRe * turnIm
      markRe = turnedRe
    }
  }
  return into
}

export function emptyCorrelations(symbolCount: number): SymbolCorrelations {
  return { re: new Float64Array(symbolCount), im: new Float64Array(symbolCount) }
}

function pointerAt(sums: ToneSums, moment: number): { re: number; im: number } {
  const phase = (-2 * Math.PI * sums.toneHz * moment) / workingRateHz
  return { re: Math.cos(phase), im: Math.sin(phase) }
}

/**
 * The sum of samples up to a moment. Sample n stands for the moment n and fills half a sample to both sides of it,
 * so that element n of the running sums, which ends with sample n - 1, is the sum up to n - 0.5.
 */
function between(sums: Float64Array, count: number, moment: number): number {
  const clamped = Math.min(count, Math.max(0, moment + 0.5))
  const whole = Math.min(count - 1, Math.floor(clamped))
  return sums[whole]! + (clamped - whole) * (sums[whole + 1]! - sums[whole]!)
}
