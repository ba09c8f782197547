import { describe, expect, it } from 'vitest'
import { noiseRmsForEbN0, whiteNoise } from '../../../../dsp/channel/noise.js'
import { modulateTransmission } from '../../../../dsp/modem/modulateTransmission.js'
import { meanPower } from '../../../../dsp/numbers/power.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { addNoise } from '../../../channel/addNoise.js'
import { testFrame } from '../receiving.js'
import { timed } from './timedHops.js'

const sampleRateHz = 12_000

const estimates = (audio: Float32Array) => timed(audio).estimates

function signal(symbolRateErrorPpm: number, ebN0Db: number): Float32Array {
  const random = seededRandom(21)
  const clean = modulateTransmission({
    frames: [testFrame(250, random), testFrame(250, random)],
    preambleMs: 100,
    tailMs: 50,
    sampleRateHz,
    peakLevel: 0.4,
    symbolRateErrorPpm,
  })
  return addNoise(clean, noiseRmsForEbN0(meanPower(clean), ebN0Db, sampleRateHz), random)
}

describe('symbol timing', () => {
  it('finds the start of the symbols to a few hundredths at 6 dB Eb/N0', () => {
    const inside = estimates(signal(0, 6)).slice(6, -8)
    // The transmission starts with a symbol at sample 0: starts are multiples of ten samples.
    const errors = inside.map(({ startSample }) => startSample / 10 - Math.round(startSample / 10))
    const rms = Math.sqrt(errors.reduce((sum, e) => sum + e * e, 0) / errors.length)
    expect(inside.length).toBeGreaterThan(80)
    expect(rms).toBeLessThan(0.05)
    expect(inside.every(({ rateError }) => Math.abs(rateError) < 0.003)).toBe(true)
  })

  it.each([-40_000, -10_000, 20_000, 40_000])('finds a rate %i ppm off', (ppm) => {
    const rates = estimates(signal(ppm, 12))
      .slice(6, -8)
      .map(({ rateError }) => rateError)
      .sort((a, b) => a - b)
    expect(rates[rates.length >> 1]! * 1e6).toBeGreaterThan(ppm - 1000)
    expect(rates[rates.length >> 1]! * 1e6).toBeLessThan(ppm + 1000)
  })

  it('tells a signal at 5 dB from noise', () => {
    const noise = estimates(whiteNoise(60 * sampleRateHz, 0.3, seededRandom(22)))
    const heard = estimates(signal(0, 5)).slice(6, -8)
    const highest = Math.max(...noise.map(({ quality }) => quality))
    expect(highest).toBeLessThan(0.15)
    expect(Math.min(...heard.map(({ quality }) => quality))).toBeGreaterThan(highest)
  })
})
