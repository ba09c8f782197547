// Powers of tones and noise in signals that are made of shares of symbols, as the fit has them: nothing is left of them.
import { describe, expect, it } from 'vitest'
import { gaussian } from '../../../../dsp/channel/gaussian.js'
import { type FitMemory, fitMemoryFor, fitSignal } from '../../../../dsp/modem/quality/signalFit.js'
import { seededRandom } from '../../../../src/runtime/random.js'

const rateHz = 12_000
const tones = { markHz: 1210, spaceHz: 2190 }
/** Of a signal without noise nothing is left but this. */
const leastDensity = 1e-15 / (rateHz / 2)

const random = seededRandom(3)
const randomLevels = (count: number): Uint8Array =>
  Uint8Array.from({ length: count }, () => (random() < 0.5 ? 1 : 0))

interface Signal {
  readonly levels: Uint8Array
  readonly startSample?: number
  readonly samplesPerSymbol?: number
  readonly mark?: number
  readonly space?: number
  readonly noiseRms?: number
  /** samples behind the last symbol */
  readonly tail?: number
  readonly memory?: FitMemory
}

/** Each symbol's tone goes on from the phase of the one before; a sample on a border is that of both, in parts. */
function fitted({
  levels,
  startSample = 0,
  samplesPerSymbol = 10,
  mark = 0.4,
  space = 0.2,
  noiseRms = 0,
  tail = 0,
  memory,
}: Signal) {
  const end = startSample + levels.length * samplesPerSymbol
  const wide = new Float32Array(Math.ceil(end) + tail)
  let phase = 0.8
  levels.forEach((level, symbol) => {
    const step = (2 * Math.PI * (level === 1 ? tones.markHz : tones.spaceHz)) / rateHz
    const from = startSample + symbol * samplesPerSymbol
    const to = from + samplesPerSymbol
    for (let n = Math.max(0, Math.floor(from)); n <= Math.ceil(to) && n < wide.length; n++) {
      const share = Math.max(0, Math.min(n + 0.5, to) - Math.max(n - 0.5, from))
      wide[n]! += share * (level === 1 ? mark : space) * Math.sin(phase + step * (n - from))
    }
    phase += step * samplesPerSymbol
  })
  const noise = gaussian(seededRandom(8))
  for (let n = 0; noiseRms > 0 && n < wide.length; n++) wide[n]! += noiseRms * noise()
  return fitSignal(
    wide,
    levels,
    { startSample, samplesPerSymbol },
    tones,
    memory ?? fitMemoryFor(wide.length, levels.length),
  )
}

describe('a signal without noise', () => {
  it.each([
    [24, 0, 10],
    [24, 0.3, 10],
    [24, 7.5, 10.004],
    [20, 3, 9.97],
    [17, 0.5, 10.05],
  ])(
    'of %i symbols from %f on, %f samples each: its powers, and nothing is left',
    (count, startSample, samplesPerSymbol) => {
      const levels = randomLevels(count)
      const fit = fitted({ levels, startSample, samplesPerSymbol })
      const marks = levels.reduce((sum, level) => sum + level, 0)
      expect(fit.markPower).toBeCloseTo(0.08, 6)
      expect(fit.spacePower).toBeCloseTo(0.02, 6)
      expect(fit.signalPower).toBeCloseTo((0.08 * marks + 0.02 * (count - marks)) / count, 6)
      expect(fit.noiseDensity).toBeLessThan(1e-12)
    },
  )

  it.each([
    [25, 2.2, 10.02],
    [50, 0.5, 10.05],
    [200, 0, 10],
    [205, 3, 9.97],
  ])(
    'of %i symbols, in blocks of 24 that share a sample: but for that the same',
    (count, startSample, samplesPerSymbol) => {
      const levels = randomLevels(count)
      const fit = fitted({ levels, startSample, samplesPerSymbol })
      expect(fit.markPower).toBeCloseTo(0.08, 3)
      expect(fit.spacePower).toBeCloseTo(0.02, 3)
      expect(fit.noiseDensity).toBeLessThan(1e-6)
    },
  )

  it.each([0, 1])('of one tone, %i, has nothing of the other', (level) => {
    const fit = fitted({ levels: new Uint8Array(24).fill(level) })
    const [own, other] =
      level === 1 ? [fit.markPower, fit.spacePower] : [fit.spacePower, fit.markPower]
    expect(own).toBeCloseTo(level === 1 ? 0.08 : 0.02, 6)
    expect(other).toBeLessThan(1e-9)
    expect(fit.signalPower).toBeCloseTo(own, 6)
  })

  it('may be cut off at either end', () => {
    const fit = fitted({ levels: randomLevels(100), startSample: -13.3 })
    expect(fit.markPower).toBeCloseTo(0.08, 2)
    expect(fit.noiseDensity).toBeLessThan(1e-7)
  })

  it('silence is no signal', () => {
    const fit = fitted({ levels: randomLevels(100), mark: 0, space: 0 })
    expect(fit).toEqual({
      ...{ markPower: 1e-15, spacePower: 1e-15, signalPower: expect.closeTo(1e-15, 20) },
      noiseDensity: leastDensity,
    })
  })
})

describe('noise', () => {
  it.each([0.05, 0.2])('of RMS %f is measured, and taken off the powers', (noiseRms) => {
    const fit = fitted({ levels: randomLevels(2000), noiseRms })
    expect(fit.noiseDensity / (noiseRms ** 2 / 6000)).toBeCloseTo(1, 1)
    expect(fit.markPower).toBeCloseTo(0.08, 2)
    expect(fit.spacePower).toBeCloseTo(0.02, 2)
  })

  it('alone has no power of a tone to speak of', () => {
    const fit = fitted({ levels: randomLevels(2000), mark: 0, space: 0, noiseRms: 0.2 })
    expect(fit.signalPower).toBeLessThan(0.001)
  })

  it('is that of the frame: what follows it does not count', () => {
    const levels = randomLevels(300)
    const alone = fitted({ levels, noiseRms: 0.05 })
    const followed = fitted({ levels, noiseRms: 0.05, tail: 3000 })
    expect(followed.noiseDensity / alone.noiseDensity).toBeCloseTo(1, 2)
  })
})

describe('the memory of a fit', () => {
  it('is taken again where it is large enough', () => {
    const former = fitMemoryFor(1000, 100)
    expect(fitMemoryFor(1000, 100, former)).toBe(former)
    expect(fitMemoryFor(900, 90, former)).toBe(former)
    expect(fitMemoryFor(1001, 100, former)).not.toBe(former)
    expect(fitMemoryFor(1000, 101, former)).not.toBe(former)
  })

  it('holds nothing of the signal before', () => {
    const memory = fitMemoryFor(4000, 400)
    const levels = randomLevels(200)
    const first = fitted({ levels, noiseRms: 0.05 })
    fitted({ levels: randomLevels(400), mark: 1, space: 1, memory })
    expect(fitted({ levels, noiseRms: 0.05, memory })).toEqual(first)
  })
})
