// An echo, as it shows in the spectrum: it makes the band stronger and weaker in turn, once in 1 / delay. What was fitted has the
// spectrum that the signal would have; noise fills the valleys. A filter makes a slope of it, which is taken out.
import { measureSpectrum } from '../measure/spectrum.js'
import { workingRateHz } from '../modem/frontEnd/frontEnd.js'
import { addPoint, emptyLine, fitLine } from '../numbers/lineFit.js'
import { fromDb } from '../numbers/power.js'

export interface Comb {
  readonly delayMs: number
  /** of the swing, in nepers: about the echo's amplitude over the direct signal's; negative where it comes inverted */
  readonly gain: number
  /** of what the spectrum differs by from a slope, how much the swing explains, 0 to 1 */
  readonly share: number
}

/** Lines 47 Hz apart: the swing of 3 ms is 333 Hz long. */
const size = 256
const fromHz = 700
const toHz = 2900
/** Less than one swing within the band is hardly told from what filters do: 0.45 ms. */
const delayMinS = 0.00045
const delayMaxS = 0.003
const delayStepS = 0.00005

/** @param offsetHz of both tones */
export function findComb(heard: Float32Array, fitted: Float32Array, offsetHz: number): Comb {
  const options = { sampleRateHz: workingRateHz, size }
  const { binHz, densityDbfsPerHz } = measureSpectrum(heard, options)
  const expected = measureSpectrum(fitted, options).densityDbfsPerHz
  const first = Math.max(1, Math.ceil((fromHz + offsetHz) / binHz))
  const end = Math.min(densityDbfsPerHz.length, Math.floor((toHz + offsetHz) / binHz))
  const powers = densityDbfsPerHz.slice(first, end).map(fromDb)
  const floor = powers.toSorted()[Math.floor(powers.length / 10)]!
  const frequencies = Float64Array.from(powers, (_, at) => (first + at) * binHz)
  const ratios = Float64Array.from(
    powers,
    (power, at) =>
      Math.log(power + 1e-20) - Math.log(fromDb(expected[first + at]!) + floor + 1e-20),
  )
  const bent = withoutSlope(ratios)
  const all = product(bent, bent) + 1e-12
  let best: Comb = { delayMs: 0, gain: 0, share: 0 }
  for (let delayS = delayMinS; delayS <= delayMaxS; delayS += delayStepS) {
    const swing = withoutSlope(frequencies.map((hz) => Math.cos(2 * Math.PI * hz * delayS)))
    const gain = product(bent, swing) / (product(swing, swing) + 1e-12)
    const share = (gain * product(bent, swing)) / all
    if (share > best.share) best = { delayMs: 1000 * delayS, gain, share }
  }
  return best
}

const product = (one: Float64Array, other: Float64Array): number =>
  one.reduce((sum, value, at) => sum + value * other[at]!, 0)

/** What is left of values beside the straight line through them. */
function withoutSlope(values: Float64Array): Float64Array {
  const line = emptyLine()
  for (const [at, value] of values.entries()) addPoint(line, at, value, 1)
  const { offset, slope } = fitLine(line)
  return values.map((value, at) => value - offset - slope * at)
}
