import { describe, expect, it } from 'vitest'
import {
  modulateTransmission,
  transmissionDurationMs,
} from '../../../dsp/modem/modulateTransmission.js'
import {
  modulateLevels,
  phaseStep,
  sampleCount,
  tonePeakOverRms,
} from '../../../dsp/modem/modulator.js'
import { seededRandom } from '../../../src/runtime/random.js'

const rates = [8000, 9600, 11025, 12000, 16000, 22050, 24000, 32000, 44100, 48000, 96000]

function randomLevels(count: number): Uint8Array {
  const random = seededRandom(3)
  return Uint8Array.from({ length: count }, () => (random() < 0.5 ? 0 : 1))
}

describe('numerically controlled oscillator', () => {
  // round(f / fs * 2^32), computed outside the project.
  it.each([
    [8000, 644245094, 1181116006],
    [9600, 536870912, 984263339],
    [11025, 467479434, 857045628],
    [16000, 322122547, 590558003],
    [22050, 233739717, 428522814],
    [44100, 116869858, 214261407],
    [48000, 107374182, 196852668],
    [96000, 53687091, 98426334],
  ])('phase steps at %i Hz', (rate, mark, space) => {
    expect(phaseStep(1200, rate)).toBe(mark)
    expect(phaseStep(2200, rate)).toBe(space)
  })
})

describe.each(rates)('at %i Hz', (sampleRateHz) => {
  it('1200 symbols last exactly one second of samples', () => {
    expect(modulateLevels(randomLevels(1200), { sampleRateHz, peakLevel: 1 })).toHaveLength(
      sampleRateHz,
    )
    expect(sampleCount(3600, sampleRateHz)).toBe(3 * sampleRateHz)
  })

  it('is the sampled continuous-time waveform', () => {
    // The phase at time t is the integral of the tone frequency: computed here symbol by symbol, in floating point.
    const levels = randomLevels(300)
    const samples = modulateLevels(levels, { sampleRateHz, peakLevel: 0.5 })
    let turnsAtSymbol = 0
    for (let symbol = 0; symbol < levels.length; symbol++) {
      const toneHz = levels[symbol] === 1 ? 1200 : 2200
      const first = Math.ceil((symbol * sampleRateHz) / 1200)
      for (let index = first; index < ((symbol + 1) * sampleRateHz) / 1200; index++) {
        const turns = turnsAtSymbol + toneHz * (index / sampleRateHz - symbol / 1200)
        expect(samples[index]!).toBeCloseTo(0.5 * Math.sin(2 * Math.PI * turns), 4)
      }
      turnsAtSymbol = (turnsAtSymbol + toneHz / 1200) % 1
    }
  })
})

it('sets tone balance, tone offset and symbol rate', () => {
  const sampleRateHz = 48000
  const options = { sampleRateHz, peakLevel: 0.8, toneBalanceDb: -6, toneOffsetHz: 60 }
  const rms = (samples: Float32Array): number =>
    Math.sqrt(samples.reduce((sum, value) => sum + value * value, 0) / samples.length)
  const mark = modulateLevels(new Uint8Array(1200).fill(1), options)
  const space = modulateLevels(new Uint8Array(1200).fill(0), options)
  expect(rms(mark)).toBeCloseTo(0.8 / Math.SQRT2, 4)
  expect(20 * Math.log10(rms(space) / rms(mark))).toBeCloseTo(-6, 3)
  expect(risingZeroCrossings(mark)).toBe(1260)
  expect(risingZeroCrossings(space)).toBe(2260)
  const fast = modulateLevels(new Uint8Array(12000), { ...options, symbolRateErrorPpm: 29_000 })
  expect(fast.length).toBe(Math.ceil((10 * sampleRateHz) / 1.029))
})

it('stays within the peak level, the stronger tone at it', () => {
  for (const toneBalanceDb of [-8, 0, 8]) {
    const samples = modulateLevels(randomLevels(600), {
      sampleRateHz: 44100,
      peakLevel: 0.3,
      toneBalanceDb,
    })
    const peak = samples.reduce((most, value) => Math.max(most, Math.abs(value)), 0)
    expect(peak).toBeLessThanOrEqual(0.3000001)
    expect(peak).toBeGreaterThan(0.29)
  }
})

it('a transmission lasts as long as it says', () => {
  const options = {
    frames: [new Uint8Array(30), new Uint8Array(60).fill(255)],
    preambleMs: 250,
    tailMs: 30,
    sampleRateHz: 22050,
    peakLevel: 0.5,
  }
  const samples = modulateTransmission(options)
  expect(samples.length).toBe(Math.ceil((transmissionDurationMs(options) * 22050) / 1000))
})

it('a sample at the border of two symbols belongs to the later one', () => {
  // Space turns 1 5/6 times in the ten samples of a symbol, and is 6.02 dB, half, below mark.
  const options = { sampleRateHz: 12_000, peakLevel: 1, toneBalanceDb: -6.0206 }
  const [first, last] = [9, 10].map((at) => modulateLevels(Uint8Array.of(0, 1), options)[at]!)
  expect(first).toBeCloseTo(0.5 * Math.sin((2 * Math.PI * 9 * 2200) / 12_000), 4)
  expect(last).toBeCloseTo(-Math.sin(Math.PI / 3), 4)
})

it.each([
  [-6, 1, 0.501_187],
  [0, 1, 1],
  [6, 0.501_187, 1],
])('at a balance of %f dB mark has %f of the level, space %f', (toneBalanceDb, mark, space) => {
  for (const [level, share] of [
    [1, mark],
    [0, space],
  ] as const) {
    const options = { sampleRateHz: 48_000, peakLevel: 0.5, toneBalanceDb }
    const peak = Math.max(...modulateLevels(new Uint8Array(120).fill(level), options))
    expect(peak).toBeCloseTo(0.5 * share, 4)
  }
})

// A sine's peak is the root of 2 over its RMS; of two, half of the time each, the mean of both squares counts.
it.each([
  [0, Math.SQRT2],
  [6.0206, Math.sqrt(2 / 0.625)],
  [-6.0206, Math.sqrt(2 / 0.625)],
  [-200, 2],
])('at a balance of %f dB the peak is %f times the RMS', (toneBalanceDb, factor) => {
  expect(tonePeakOverRms(toneBalanceDb)).toBeCloseTo(factor, 4)
})

it.each([7999.9, 4000, Number.NaN])('refuses a sample rate of %f Hz', (sampleRateHz) => {
  expect(() => modulateLevels(new Uint8Array(4), { sampleRateHz, peakLevel: 1 })).toThrow(
    new RangeError(`modulator: got ${sampleRateHz} Hz, expected a sample rate from 8000 Hz`),
  )
})

// Half of 8000 Hz is where a tone can no longer be told from its mirror image.
it.each([
  [1799.9, 0, undefined],
  [1800, 0, '4000 and 3000'],
  [-1199.9, 0, undefined],
  [-1200, 0, '1000 and 0'],
  [0, -2200, '0 and 1200'],
  [0, 1800, '4000 and 1200'],
])(
  'tones %f Hz off, space %f Hz more: refused with %s',
  (toneOffsetHz, toneSpacingErrorHz, tones) => {
    const options = { sampleRateHz: 8000, peakLevel: 1, toneOffsetHz, toneSpacingErrorHz }
    const make = (): Float32Array => modulateLevels(new Uint8Array(4), options)
    if (tones === undefined) expect(make()).toHaveLength(27)
    else
      expect(make).toThrow(new RangeError(`modulator: tones of ${tones} Hz leave the audio band`))
  },
)

it('refuses times that it cannot make', () => {
  expect(() =>
    modulateTransmission({
      frames: [],
      preambleMs: -1,
      tailMs: 0,
      sampleRateHz: 8000,
      peakLevel: 1,
    }),
  ).toThrow(RangeError)
})

function risingZeroCrossings(samples: Float32Array): number {
  let count = 0
  for (let index = 0; index < samples.length; index++) {
    const next = samples[index + 1] ?? 0
    if (samples[index]! < 0 && next >= 0) count++
  }
  return count
}
