// Timing of known symbols, from audio whose symbols were put where they are.
import { describe, expect, it } from 'vitest'
import { whiteNoise } from '../../../../dsp/channel/noise.js'
import { estimateTiming, refineTiming } from '../../../../dsp/modem/quality/timingEstimate.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { audioOf, pair, randomLevels, type Sent, start } from './knownSymbols.js'

const guess = { startSample: start, samplesPerSymbol: 10 }

describe('the first estimate', () => {
  it.each([-5, -4, -2.5, 0, 1, 4, 5])('finds a start %i samples beside the guess', (beside) => {
    const levels = randomLevels(240)
    const tones = pair(audioOf(levels, { startSample: start + beside }))
    const found = estimateTiming(tones, levels, guess)
    expect(Math.abs(found.startSample - start - beside)).toBeLessThan(0.6)
    expect(Math.abs(found.samplesPerSymbol - 10)).toBeLessThan(0.01)
  })

  it.each([9.96, 9.99, 10.02, 10.04])('finds symbols of %d samples', (samplesPerSymbol) => {
    const levels = randomLevels(240)
    const tones = pair(audioOf(levels, { samplesPerSymbol }))
    const found = estimateTiming(tones, levels, guess)
    expect(Math.abs(found.samplesPerSymbol - samplesPerSymbol)).toBeLessThan(0.01)
    expect(Math.abs(found.startSample - start)).toBeLessThan(0.8)
  })

  it('puts levels right that are the wrong way round, and only those', () => {
    const levels = randomLevels(100)
    const tones = pair(audioOf(levels))
    const given = levels.map((level) => level ^ 1)
    estimateTiming(tones, given, guess)
    expect(given).toEqual(levels)
    estimateTiming(tones, given, guess)
    expect(given).toEqual(levels)
    // More ones than zeros in them are no sign.
    const many = Uint8Array.from({ length: 100 }, (_, at) => (at % 4 === 0 ? 0 : 1))
    const kept = many.slice()
    estimateTiming(pair(audioOf(many)), kept, guess)
    expect(kept).toEqual(many)
  })

  it('of audio without the frame it is the guess', () => {
    const levels = randomLevels(24)
    let guesses = 0
    for (let seed = 1; seed <= 20; seed++) {
      const found = estimateTiming(pair(whiteNoise(400, 0.3, seededRandom(seed))), levels, guess)
      const rateMove = Math.abs(found.samplesPerSymbol / 10 - 1)
      expect(rateMove).toBeLessThan(0.01)
      if (rateMove === 0 && found.startSample === start) guesses++
    }
    expect(guesses).toBeGreaterThan(10)
  })
})

describe('the fine estimate', () => {
  const both = (sent: Sent, levels = randomLevels(480)) => {
    const tones = pair(audioOf(levels, sent), sent.offsetHz)
    const coarse = estimateTiming(tones, levels.slice(), guess)
    return { coarse, fine: refineTiming(tones, levels, coarse) }
  }

  it.each([9.995, 9.998, 10, 10.003])(
    'finds symbols of %d samples to 12 ppm',
    (samplesPerSymbol) => {
      const { fine } = both({ samplesPerSymbol, startSample: start + 0.4 })
      expect(Math.abs(fine.samplesPerSymbol / samplesPerSymbol - 1)).toBeLessThan(12e-6)
      expect(Math.abs(fine.startSample - start - 0.4)).toBeLessThan(0.3)
    },
  )

  it('the rate is nearer than the first estimate’s, in 10 of 10', () => {
    for (let seed = 60; seed < 70; seed++) {
      const { coarse, fine } = both({ samplesPerSymbol: 10.002 }, randomLevels(480, seed))
      const error = (timing: { samplesPerSymbol: number }) =>
        Math.abs(timing.samplesPerSymbol - 10.002)
      expect(error(fine)).toBeLessThan(error(coarse))
    }
  })

  // What a path does to one tone alone must not move the timing.
  it.each([
    [1, 1],
    [0.3, 0],
    [3, 0],
    [0.5, -2],
    [2, 2.6],
  ])(
    'a space tone %d times as high, %d radians later, changes little',
    (spaceGain, spaceRadians) => {
      const { fine } = both({ spaceGain, spaceRadians, startSample: start - 0.3 })
      expect(Math.abs(fine.startSample - start + 0.3)).toBeLessThan(0.9)
      expect(Math.abs(fine.samplesPerSymbol / 10 - 1)).toBeLessThan(80e-6)
    },
  )

  it('tones that lie elsewhere are correlated where they lie', () => {
    const { fine } = both({ startSample: start + 0.4, offsetHz: 80 })
    expect(Math.abs(fine.startSample - start - 0.4)).toBeLessThan(0.3)
    expect(Math.abs(fine.samplesPerSymbol / 10 - 1)).toBeLessThan(12e-6)
  })

  it('silence leaves the timing as it is', () => {
    const tones = pair(new Float32Array(700))
    expect(refineTiming(tones, randomLevels(48), guess)).toEqual(guess)
  })
})
