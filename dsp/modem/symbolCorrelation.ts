import { workingRateHz } from './frontEnd.js'

/** Where the symbols of a frame lie in a stretch of audio at the working rate. */
export interface SymbolTiming {
  /** start of the first symbol, in samples */
  readonly start: number
  readonly samplesPerSymbol: number
}

export interface ToneFrequencies {
  readonly markHz: number
  readonly spaceHz: number
}

/** Running sums of audio times one tone: the correlation over any window is the difference of two of them. */
export interface ToneSums {
  readonly toneHz: number
  /** one longer than the audio; element n sums samples 0 to n - 1 */
  readonly re: Float64Array
  readonly im: Float64Array
}

/** Complex correlations, one a symbol. */
export interface SymbolCorrelations {
  readonly re: Float64Array
  readonly im: Float64Array
}

export function toneSums(audio: Float64Array, toneHz: number): ToneSums {
  const re = new Float64Array(audio.length + 1)
  const im = new Float64Array(audio.length + 1)
  const step = (2 * Math.PI * toneHz) / workingRateHz
  const stepRe = Math.cos(step)
  const stepIm = -Math.sin(step)
  // A turning pointer instead of a cosine for each sample: its error stays below 1e-12 over the longest frame.
  let pointerRe = 1
  let pointerIm = 0
  for (let index = 0; index < audio.length; index++) {
    re[index + 1] = re[index]! + audio[index]! * pointerRe
    im[index + 1] = im[index]! + audio[index]! * pointerIm
    const turnedRe = pointerRe * stepRe - pointerIm * stepIm
    pointerIm = pointerRe * stepIm + pointerIm * stepRe
    pointerRe = turnedRe
  }
  return { toneHz, re, im }
}

/** |correlation|^2 over the window from `from` to `to`, in fractions of samples. */
export function windowPower(sums: ToneSums, from: number, to: number): number {
  const re = between(sums.re, to) - between(sums.re, from)
  const im = between(sums.im, to) - between(sums.im, from)
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
  const pointers = [pointerAt(space, timing.start), pointerAt(mark, timing.start)] as const
  const turn =
    (2 * Math.PI * (space.toneHz - mark.toneHz) * timing.samplesPerSymbol) / workingRateHz
  const turnRe = Math.cos(turn)
  const turnIm = Math.sin(turn)
  for (let symbol = 0; symbol < levels.length; symbol++) {
    const level = levels[symbol]!
    const sums = level === 1 ? mark : space
    const from = timing.start + symbol * timing.samplesPerSymbol
    const to = from + timing.samplesPerSymbol
    const windowRe = between(sums.re, to) - between(sums.re, from)
    const windowIm = between(sums.im, to) - between(sums.im, from)
    const own = pointers[level === 1 ? 1 : 0]
    re[symbol] = windowRe * own.re + windowIm * own.im
    im[symbol] = windowIm * own.re - windowRe * own.im
    const other = pointers[level === 1 ? 0 : 1]
    const sign = level === 1 ? -turnIm : turnIm
    const otherRe = other.re * turnRe - other.im * sign
    other.im = other.re * sign + other.im * turnRe
    other.re = otherRe
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
function between(sums: Float64Array, moment: number): number {
  const clamped = Math.min(sums.length - 1, Math.max(0, moment + 0.5))
  const whole = Math.min(sums.length - 2, Math.floor(clamped))
  return sums[whole]! + (clamped - whole) * (sums[whole + 1]! - sums[whole]!)
}
