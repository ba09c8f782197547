// Timing hop by hop: short signals without noise in them, at a rate and a place that are known.
import { describe, expect, it } from 'vitest'
import { whiteNoise } from '../../../../dsp/channel/noise.js'
import { modulateLevels } from '../../../../dsp/modem/modulator.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { hopSamples, timed } from './timedHops.js'

const signal = (symbols: number, symbolRateErrorPpm = 0): Float32Array => {
  const random = seededRandom(31)
  const levels = Uint8Array.from({ length: symbols }, () => (random() < 0.5 ? 1 : 0))
  return modulateLevels(levels, { sampleRateHz: 12_000, peakLevel: 0.3, symbolRateErrorPpm })
}

/** Samples from the nearest start of a symbol, the first one beginning half a sample behind 0. */
const missOf = (startSample: number, length = 10): number => {
  const symbols = (startSample - 0.5) / length
  return length * (symbols - Math.round(symbols))
}

describe('a steady signal', () => {
  it('has its timing in each hop, from the first one on, however long it lasts', () => {
    const { estimates } = timed(signal(1600))
    expect(estimates.length).toBeGreaterThan(44)
    estimates.forEach(({ startSample, rateError, quality }, hop) => {
      expect(Math.abs(missOf(startSample))).toBeLessThan(0.6)
      // The start next to the middle of the hop.
      expect(Math.abs(startSample - hopSamples * (hop + 0.5))).toBeLessThanOrEqual(5)
      expect(rateError).toBe(0)
      expect(quality).toBeGreaterThan(0.65)
      expect(quality).toBeLessThan(1)
    })
  })

  it('gives a hop for each 32 symbols, eight of them late', () => {
    const audio = signal(420)
    const seen = new Set<number>()
    for (let end = 3850; end < 4200; end += 10) {
      const { hops, symbols } = timed(audio.subarray(0, end))
      expect(hops).toBe(Math.floor((symbols - 8) / 32))
      seen.add((symbols - 8) % 32)
    }
    // The last symbol before a hop, and the one that makes it.
    expect(seen).toContain(31)
    expect(seen).toContain(0)
  })

  it('is as loud as it likes to be', () => {
    const loud = timed(signal(400)).estimates
    const quiet = timed(signal(400).map((sample) => sample / 1000)).estimates
    quiet.forEach(({ startSample, quality }, hop) => {
      expect(startSample).toBeCloseTo(loud[hop]!.startSample, 2)
      expect(quality).toBeCloseTo(loud[hop]!.quality, 2)
    })
  })
})

describe('another symbol rate', () => {
  it.each([-46_000, -30_000, -5000, 5000, 30_000, 46_000])('%i ppm off is found', (ppm) => {
    const { estimates } = timed(signal(420, ppm))
    const length = 10 / (1 + ppm * 1e-6)
    for (const { rateError, startSample, quality } of estimates.slice(1, -1)) {
      expect(Math.abs(rateError * 1e6 - ppm)).toBeLessThan(1000)
      expect(Math.abs(missOf(startSample, length))).toBeLessThan(2.2)
      expect(quality).toBeGreaterThan(0.4)
    }
  })

  it.each([-48_500, 48_500])('%i ppm off is taken for the farthest one that is tried', (ppm) => {
    const { estimates } = timed(signal(420, ppm))
    const rates = estimates.map(({ rateError }) => Math.abs(rateError))
    // Twelve steps of 1 / 256.
    expect(rates.filter((rate) => rate === 12 / 256).length).toBeGreaterThan(5)
    expect(Math.max(...rates)).toBe(12 / 256)
  })

  it('that is near must be much likelier than the nominal one', () => {
    const ratesOf = (ppm: number) =>
      timed(signal(420, ppm))
        .estimates.slice(1, -1)
        .map(({ rateError }) => rateError)
    // Half a step from the nominal one at most while that has 0.7 of the line: at 0.61 steps 0.82 of it, at 0.77 steps 0.6.
    for (const rate of ratesOf(2400)) expect(rate).toBeLessThanOrEqual(0.5 / 256)
    for (const rate of ratesOf(3000)) expect(rate).toBeGreaterThan(0.6 / 256)
  })

  it('a thousandth is taken for none', () => {
    for (const { rateError } of timed(signal(420, 500)).estimates) expect(rateError).toBe(0)
    const { estimates } = timed(signal(420, 1900))
    const rates = estimates.map(({ rateError }) => rateError).filter((rate) => rate !== 0)
    expect(rates.length).toBeGreaterThan(3)
    for (const rate of rates) expect(rate).toBeGreaterThanOrEqual(0.0012)
  })
})

describe('a signal between noise', () => {
  const audio = whiteNoise(hopSamples * 45, 0.05, seededRandom(8))
  const burst = signal(32 * 12)
  const from = hopSamples * 16 + 4
  burst.forEach((sample, n) => {
    audio[from + n]! += sample
  })
  const { estimates } = timed(audio)

  it('has its own timing in all its hops, with nothing of the noise about it', () => {
    for (const { startSample, quality } of estimates.slice(16, 28)) {
      expect(Math.abs(missOf(startSample - 4))).toBeLessThan(0.7)
      expect(quality).toBeGreaterThan(0.5)
    }
  })

  it('lends it to the three hops before and behind, and to none beyond', () => {
    for (const hop of [15, 28]) {
      expect(Math.abs(missOf(estimates[hop]!.startSample - 4))).toBeLessThan(0.8)
      expect(estimates[hop]!.quality).toBeGreaterThan(0.3)
    }
    for (const hop of [10, 11, 12, 33, 34, 35]) expect(estimates[hop]!.quality).toBeLessThan(0.15)
  })
})

it('silence has no timing, and no numbers that are none', () => {
  for (const estimate of timed(new Float32Array(hopSamples * 8)).estimates) {
    expect(estimate.quality).toBe(0)
    expect(Number.isFinite(estimate.startSample)).toBe(true)
  }
})
