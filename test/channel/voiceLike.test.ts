import { expect, it } from 'vitest'
import { measureSpectrum } from '../../dsp/measure/spectrum.js'
import { meanPower } from '../../dsp/numbers/power.js'
import { seededRandom } from '../../src/runtime/random.js'
import { createVoiceLike } from './voiceLike.js'

const sampleRateHz = 12000

it('fills the voice band, with pauses and syllables, at about the level asked for', () => {
  const sound = createVoiceLike(sampleRateHz, 0.1, seededRandom(1))(sampleRateHz * 30)
  const level = Math.sqrt(meanPower(sound))
  expect(level).toBeGreaterThan(0.03)
  expect(level).toBeLessThan(0.15)
  const { densityDbfsPerHz, binHz } = measureSpectrum(sound, { sampleRateHz, size: 1024 })
  const band = (low: number, high: number): number => {
    const bins = densityDbfsPerHz.subarray(Math.round(low / binHz), Math.round(high / binHz))
    return 10 * Math.log10(bins.reduce((sum, db) => sum + 10 ** (db / 10), 0) / bins.length)
  }
  // Most of it below 1 kHz, much between 1 and 3 kHz, little above 4 kHz.
  expect(band(300, 1000)).toBeGreaterThan(band(1000, 3000))
  expect(band(1000, 3000)).toBeGreaterThan(band(4500, 5800) + 10)
  const quiet = Array.from({ length: 600 }, (_, n) =>
    meanPower(sound.subarray(n * 600, n * 600 + 600)),
  ).filter((power) => power < 1e-5).length
  expect(quiet / 600).toBeGreaterThan(0.05)
  expect(quiet / 600).toBeLessThan(0.6)
})

it('goes on where it stopped, and depends on its seed alone', () => {
  const whole = createVoiceLike(sampleRateHz, 0.1, seededRandom(2))(5000)
  const source = createVoiceLike(sampleRateHz, 0.1, seededRandom(2))
  expect([...source(1234), ...source(3766)]).toEqual([...whole])
})
