// The simulated radio path against closed formulas; each names its source in the module under test.
import { describe, expect, it } from 'vitest'
import { gaussian } from '../../dsp/channel/gaussian.js'
import { noiseRmsForEbN0, whiteNoise } from '../../dsp/channel/noise.js'
import { modulateTransmission } from '../../dsp/modem/modulateTransmission.js'
import { meanPower } from '../../dsp/numbers/power.js'
import { seededRandom } from '../../src/runtime/random.js'
import { addNoise } from './addNoise.js'
import { convert } from './converter.js'
import { deEmphasis, emphasisSeconds, preEmphasis } from './emphasis.js'
import { rayleighFading } from './fading.js'
import { simulateFmPath } from './fm.js'
import { butterworth, filterBiquads } from './iir.js'
import { filterVoiceBand, simulateRadioPath } from './radioPath.js'

const rate = 48000
const tone = (hz: number, seconds = 0.5, amplitude = 1): Float32Array =>
  Float32Array.from(
    { length: rate * seconds },
    (_, n) => amplitude * Math.sin((2 * Math.PI * hz * n) / rate),
  )
const steady = (samples: Float32Array): Float32Array => samples.subarray(samples.length >> 1)
const db = (ratio: number): number => 10 * Math.log10(ratio)
const gainDb = (filter: (samples: Float32Array) => Float32Array, hz: number): number =>
  db(meanPower(steady(filter(tone(hz)))) / meanPower(steady(tone(hz))))

/** Power of a signal near one frequency, by correlation over all of it. */
function tonePower(samples: Float32Array, hz: number): number {
  let re = 0
  let im = 0
  samples.forEach((sample, n) => {
    re += sample * Math.cos((2 * Math.PI * hz * n) / rate)
    im += sample * Math.sin((2 * Math.PI * hz * n) / rate)
  })
  return (2 * (re * re + im * im)) / samples.length ** 2
}

it('Gaussian numbers have the moments of the normal distribution', () => {
  const next = gaussian(seededRandom(1))
  const count = 200_000
  const moments = [0, 0, 0, 0]
  for (let n = 0; n < count; n++) {
    const value = next()
    for (let order = 1; order <= 4; order++) moments[order - 1]! += value ** order / count
  }
  expect(moments[0]).toBeCloseTo(0, 1)
  expect(Math.abs(moments[1]! - 1)).toBeLessThan(0.015)
  expect(Math.abs(moments[2]!)).toBeLessThan(0.05)
  expect(Math.abs(moments[3]! - 3)).toBeLessThan(0.1)
})

it.each([8000, 12000, 48000])(
  'Eb/N0 as measured is Eb/N0 as asked for, at %i Hz',
  (sampleRateHz) => {
    const audio = modulateTransmission({
      frames: [new Uint8Array(200).fill(0x5a)],
      preambleMs: 500,
      tailMs: 0,
      sampleRateHz,
      peakLevel: 0.4,
    })
    const noisy = addNoise(
      audio,
      noiseRmsForEbN0(meanPower(audio), 7, sampleRateHz),
      seededRandom(2),
    )
    const noise = noisy.map((sample, n) => sample - audio[n]!)
    const n0 = meanPower(noise) / (sampleRateHz / 2)
    expect(Math.abs(db(meanPower(audio) / 1200 / n0) - 7)).toBeLessThan(0.15)
  },
)

describe('filters', () => {
  it.each([
    ['lowPass', 4, 3000],
    ['highPass', 2, 300],
    ['lowPass', 8, 1500],
  ] as const)('Butterworth %s of order %i at %i Hz', (kind, order, cornerHz) => {
    const sections = butterworth(kind, order, cornerHz, rate)
    for (const hz of [150, 300, 700, 1500, 3000, 4500]) {
      // The bilinear transform maps f to tan(pi f / rate).
      const ratio = Math.tan((Math.PI * hz) / rate) / Math.tan((Math.PI * cornerHz) / rate)
      const exponent = kind === 'lowPass' ? 2 * order : -2 * order
      expect(gainDb((samples) => filterBiquads(samples, sections), hz)).toBeCloseTo(
        -db(1 + ratio ** exponent),
        1,
      )
    }
  })

  it('the voice band is 300 to 3000 Hz', () => {
    expect(gainDb((samples) => filterVoiceBand(samples, rate), 1200)).toBeCloseTo(0, 0)
    expect(gainDb((samples) => filterVoiceBand(samples, rate), 300)).toBeCloseTo(-3, 1)
    expect(gainDb((samples) => filterVoiceBand(samples, rate), 3000)).toBeCloseTo(-3, 1)
    expect(gainDb((samples) => filterVoiceBand(samples, rate), 6000)).toBeLessThan(-20)
  })
})

describe('emphasis', () => {
  it.each([
    // 20 log10 of |1 + j 2200/300| / |1 + j 1200/300|; a pure 6 dB per octave would give 5.27 dB.
    [emphasisSeconds.voice, 5.08],
    // |1 + j 2 pi 2200 75e-6| / |1 + j 2 pi 1200 75e-6| and the same with 50e-6
    [emphasisSeconds.broadcast75, 1.99],
    [emphasisSeconds.broadcast50, 1.13],
  ])('time constant %f s lifts 2200 over 1200 Hz by %f dB', (timeConstantSeconds, expectedDb) => {
    const options = { timeConstantSeconds, sampleRateHz: rate }
    const lift = (hz: number): number => gainDb((samples) => preEmphasis(samples, options), hz)
    expect(Math.abs(lift(2200) - lift(1200) - expectedDb)).toBeLessThan(0.1)
    expect(lift(1000)).toBeCloseTo(0, 2)
  })

  it('de-emphasis undoes pre-emphasis', () => {
    const options = { timeConstantSeconds: emphasisSeconds.voice, sampleRateHz: rate }
    const noise = whiteNoise(5000, 0.3, seededRandom(3))
    const back = deEmphasis(preEmphasis(noise, options), options)
    expect(Math.max(...back.map((sample, n) => Math.abs(sample - noise[n]!)))).toBeLessThan(1e-5)
  })
})

describe('frequency modulation', () => {
  const fm = { sampleRateHz: rate, deviationHz: 3000, ifBandwidthHz: 15000 }

  it('gives back the audio when there is no noise to speak of', () => {
    const audio = tone(1700, 0.2, 0.7)
    const out = simulateFmPath(audio, { ...fm, cnrDb: 90, random: seededRandom(4) })
    const inside = (n: number): boolean => n > 100 && n < audio.length - 100
    const worst = out.reduce(
      (most, sample, n) => (inside(n) ? Math.max(most, Math.abs(sample - audio[n]!)) : most),
      0,
    )
    expect(worst).toBeLessThan(0.02)
  })

  it.each([16, 20, 26])(
    'output SNR at a CNR of %i dB follows the formula above threshold',
    (cnrDb) => {
      // SNR = 3 (D/W)^2 mean(m^2) (B/W) CNR in an audio band W (S. Haykin, Communication Systems, noise in FM).
      const audioHz = 3000
      const audio = tone(1000, 4, 1)
      const out = simulateFmPath(audio, { ...fm, cnrDb, random: seededRandom(5) })
      const heard = filterBiquads(out, butterworth('lowPass', 8, audioHz, rate)).subarray(rate)
      const signal = tonePower(heard, 1000)
      const snrDb = db(signal / (meanPower(heard) - signal))
      const formulaDb = db(3 * (3000 / audioHz) ** 2 * 0.5 * (15000 / audioHz)) + cnrDb
      expect(Math.abs(snrDb - formulaDb)).toBeLessThan(1)
    },
  )

  it('clicks appear below the threshold and not above', () => {
    const silence = new Float32Array(rate * 2)
    const clicks = (cnrDb: number): number =>
      simulateFmPath(silence, { ...fm, cnrDb, random: seededRandom(6) }).filter(
        (sample) => Math.abs(sample) > 4,
      ).length
    expect(clicks(15)).toBe(0)
    expect(clicks(4)).toBeGreaterThan(20)
  })

  it('hiss without a carrier is louder than the signal; a carrier that is off shifts the mean', () => {
    const options = { ...fm, cnrDb: 20, random: seededRandom(7), carrierOffsetHz: 600 }
    const out = simulateFmPath(new Float32Array(rate), {
      ...options,
      keyed: [{ start: 0, end: rate / 2 }],
    })
    const carrier = out.subarray(100, rate / 2 - 100)
    expect(carrier.reduce((sum, sample) => sum + sample, 0) / carrier.length).toBeCloseTo(0.2, 2)
    expect(meanPower(out.subarray(rate / 2 + 100))).toBeGreaterThan(0.8)
  })

  it('refuses an intermediate frequency wider than the samples allow', () => {
    expect(() =>
      simulateFmPath(new Float32Array(10), {
        ...fm,
        sampleRateHz: 22050,
        cnrDb: 9,
        random: seededRandom(1),
      }),
    ).toThrow(RangeError)
  })
})

it('fading has a Rayleigh envelope and the autocorrelation J0', () => {
  // J0(1) and J0(2.4048) = 0: Abramowitz and Stegun, table 9.1 (from memory).
  const dopplerHz = 10
  const sampleRateHz = 1000
  const random = seededRandom(8)
  let power = 0
  let belowMinus10Db = 0
  const correlation = new Map([
    [1, 0],
    [2.4048, 0],
  ])
  const runs = 60
  for (let run = 0; run < runs; run++) {
    const { re, im } = rayleighFading(4000, dopplerHz, sampleRateHz, random)
    for (let n = 0; n < re.length; n++) {
      const instant = re[n]! ** 2 + im[n]! ** 2
      power += instant / (runs * re.length)
      if (instant < 0.1) belowMinus10Db += 1 / (runs * re.length)
    }
    for (const [argument, sum] of correlation) {
      const lag = Math.round((argument / (2 * Math.PI * dopplerHz)) * sampleRateHz)
      let product = 0
      for (let n = lag; n < re.length; n++)
        product += (re[n]! * re[n - lag]! + im[n]! * im[n - lag]!) / (re.length - lag)
      correlation.set(argument, sum + product / runs)
    }
  }
  expect(power).toBeCloseTo(1, 1)
  expect(Math.abs(belowMinus10Db - (1 - Math.exp(-0.1)))).toBeLessThan(0.015)
  expect(Math.abs(correlation.get(1)! - 0.7652)).toBeLessThan(0.05)
  expect(Math.abs(correlation.get(2.4048)!)).toBeLessThan(0.06)
})

describe('converter', () => {
  it('clips, adds hum and DC, and quantises', () => {
    const out = convert(tone(100, 0.1, 1), rate, {
      gainDb: 6,
      clipLevel: 0.8,
      dcOffset: 0.1,
      hum: { hz: 60, amplitude: 0.05 },
      bits: 8,
    })
    expect(Math.max(...out)).toBeCloseTo(0.8, 1)
    expect(out.filter((sample) => sample > 0.79).length).toBeGreaterThan(out.length / 4)
    expect(out.every((sample) => Number.isInteger(sample * 128))).toBe(true)
  })

  it('full scale stays inside the quantiser', () => {
    expect([...convert(Float32Array.of(1, -1, 0.001), rate, { bits: 8 })]).toEqual([
      127 / 128,
      -1,
      0,
    ])
    expect(() => convert(new Float32Array(1), rate, { bits: 0 })).toThrow(RangeError)
  })
})

it('the whole path is decided by its seed', () => {
  const audio = modulateTransmission({
    frames: [new Uint8Array(20)],
    preambleMs: 50,
    tailMs: 0,
    sampleRateHz: rate,
    peakLevel: 0.6,
  })
  const run = (seed: number): Float32Array =>
    simulateRadioPath(audio, {
      sampleRateHz: rate,
      random: seededRandom(seed),
      preEmphasis: true,
      fm: { cnrDb: 12, deviationHz: 3000, ifBandwidthHz: 15000, fadingDopplerHz: 5 },
      deEmphasis: true,
      voiceFilter: true,
      audioNoise: { ebN0Db: 20 },
      bits: 16,
    })
  expect(run(1)).toEqual(run(1))
  expect(run(1)).not.toEqual(run(2))
})
