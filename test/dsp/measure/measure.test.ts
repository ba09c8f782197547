// Levels and spectra of signals whose figures follow from their definition.
import { describe, expect, it } from 'vitest'
import { whiteNoise } from '../../../dsp/channel/noise.js'
import { createLevelMeter } from '../../../dsp/measure/levelMeter.js'
import { shapedAmplitude } from '../../../dsp/measure/shapedEdges.js'
import { measureSpectrum } from '../../../dsp/measure/spectrum.js'
import { testTone } from '../../../dsp/measure/testTone.js'
import { seededRandom } from '../../../src/runtime/random.js'

const rate = 48000
const sine = (hz: number, amplitude: number, count = rate): Float32Array =>
  Float32Array.from(
    { length: count },
    (_, n) => amplitude * Math.sin((2 * Math.PI * hz * n) / rate),
  )

function addTo(sum: Float32Array, addend: Float32Array): void {
  for (let n = 0; n < addend.length; n++) sum[n]! += addend[n]!
}

describe('level meter', () => {
  it('a full-scale sine: peak 0 dBFS, RMS -3.01 dBFS', () => {
    const meter = createLevelMeter(rate)
    meter.push(sine(1000, 1))
    expect(meter.read().rmsDbfs).toBeCloseTo(-3.01, 2)
    expect(meter.read().peakDbfs).toBeCloseTo(0, 3)
    // A sine is beyond 127/128 for 2/pi * acos(127/128) of the time.
    expect(meter.read().clippedShare).toBeCloseTo((2 / Math.PI) * Math.acos(127 / 128), 1)
    expect(meter.read().durationS).toBe(1)
    meter.reset()
    expect(meter.read()).toMatchObject({ rmsDbfs: -200, clippedShare: 0, durationS: 0 })
  })

  it('DC, and the noise floor between signals', () => {
    const meter = createLevelMeter(rate)
    const noise = whiteNoise(rate * 2, 0.001, seededRandom(1))
    const block = sine(1700, 0.3, 1000)
    for (let at = 0; at < noise.length; at += 1000) {
      const part = noise.slice(at, at + 1000)
      if (at > noise.length / 2) addTo(part, block)
      meter.push(part)
    }
    expect(Math.abs(meter.read().noiseFloorDbfs - -60)).toBeLessThan(0.5)
    expect(Math.abs(meter.read().dcOffset)).toBeLessThan(0.003)
    const offset = createLevelMeter(rate)
    offset.push(new Float32Array(1000).fill(0.05))
    expect(offset.read().dcOffset).toBeCloseTo(0.05, 5)
  })

  it('passes over what is not a number', () => {
    const meter = createLevelMeter(rate)
    meter.push(Float32Array.of(0.5, Number.NaN, Number.POSITIVE_INFINITY, -0.5))
    expect(meter.read().rmsDbfs).toBeCloseTo(20 * Math.log10(0.5), 3)
  })
})

describe('spectrum', () => {
  it('a sine on a bin shows its RMS level there, and the Hann window three bins', () => {
    const { levelsDbfs, binHz } = measureSpectrum(sine(1500, 0.5), {
      sampleRateHz: rate,
      size: 1024,
    })
    expect(binHz).toBeCloseTo(46.875, 6)
    expect(levelsDbfs[32]).toBeCloseTo(20 * Math.log10(0.5) - 3.01, 2)
    // The window's own transform: its neighbours hold half the amplitude.
    expect(levelsDbfs[31]! - levelsDbfs[32]!).toBeCloseTo(-6.02, 1)
    expect(levelsDbfs[33]! - levelsDbfs[32]!).toBeCloseTo(-6.02, 1)
    expect(levelsDbfs[40]!).toBeLessThan(-80)
  })

  it('two tones keep their difference of level', () => {
    const both = sine(1500, 0.4).map(
      (sample, n) => sample + 0.1 * Math.sin((2 * Math.PI * 3000 * n) / rate),
    )
    const { levelsDbfs } = measureSpectrum(both, { sampleRateHz: rate, size: 1024 })
    expect(levelsDbfs[64]! - levelsDbfs[32]!).toBeCloseTo(20 * Math.log10(0.25), 2)
  })

  it.each([256, 4096])('the density of white noise does not depend on the size (%i)', (size) => {
    const noise = whiteNoise(rate * 4, 0.1, seededRandom(2))
    const { densityDbfsPerHz } = measureSpectrum(noise, { sampleRateHz: rate, size })
    const inner = densityDbfsPerHz.subarray(2, -2)
    const mean = inner.reduce((sum, value) => sum + 10 ** (value / 10), 0) / inner.length
    // Power 0.01 spread over 0 to 24 kHz.
    expect(Math.abs(10 * Math.log10(mean) - 10 * Math.log10(0.01 / 24000))).toBeLessThan(0.2)
  })

  it('takes a short signal, and refuses an odd size', () => {
    expect(
      measureSpectrum(sine(1500, 1, 100), { sampleRateHz: rate, size: 256 }).levelsDbfs.length,
    ).toBe(129)
    for (const size of [0, 100, 32, 131072])
      expect(() => measureSpectrum(sine(1, 1, 10), { sampleRateHz: rate, size })).toThrow(
        RangeError,
      )
  })
})

describe('test tones', () => {
  it('a steady tone and a two-tone signal reach their level and hold their frequencies', () => {
    for (const tonesHz of [[1500], [1200, 2200]]) {
      const samples = testTone({ tonesHz, durationMs: 1000, sampleRateHz: rate, peakLevel: 0.6 })
      expect(samples.length).toBe(rate)
      const peak = Math.max(...samples)
      expect(peak).toBeLessThanOrEqual(0.600001)
      expect(peak).toBeGreaterThan(0.58)
      const { levelsDbfs, binHz } = measureSpectrum(samples, { sampleRateHz: rate, size: 4096 })
      for (const hz of tonesHz)
        expect(levelsDbfs[Math.round(hz / binHz)]!).toBeGreaterThan(
          20 * Math.log10(0.6 / tonesHz.length) - 5,
        )
    }
  })

  it('starts and ends at nothing', () => {
    const samples = testTone({ tonesHz: [1200], durationMs: 100, sampleRateHz: rate, peakLevel: 1 })
    expect(Math.abs(samples[20]!)).toBeLessThan(0.02)
    expect(Math.abs(samples.at(-20)!)).toBeLessThan(0.02)
    expect(shapedAmplitude(50, 100, 10)).toBe(1)
    expect(shapedAmplitude(0, 100, 10)).toBe(0)
    expect(shapedAmplitude(5, 100, 10)).toBeCloseTo(0.5, 6)
    expect(shapedAmplitude(-1, 100, 10)).toBe(0)
  })

  it('refuses what it cannot make', () => {
    for (const tonesHz of [[], [0], [24000]])
      expect(() => testTone({ tonesHz, durationMs: 10, sampleRateHz: rate, peakLevel: 1 })).toThrow(
        RangeError,
      )
  })
})
