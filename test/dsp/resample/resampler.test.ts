import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { besselI0 } from '../../../dsp/resample/kaiser.js'
import { createResampler } from '../../../dsp/resample/resampler.js'
import { seededRandom } from '../../../src/runtime/random.js'

const rates = [8000, 9600, 11025, 16000, 22050, 24000, 32000, 44100, 48000, 96000, 192000]
const workingHz = 12000

const tone = (toneHz: number, rateHz: number, count: number): Float32Array =>
  Float32Array.from({ length: count }, (_, n) =>
    Math.sin((2 * Math.PI * toneHz * n) / rateHz + 0.3),
  )

function convert(input: Float32Array, fromHz: number, toHz: number, passbandHz?: number) {
  const resampler = createResampler({ fromHz, toHz, ...(passbandHz && { passbandHz }) })
  const head = resampler.process(input)
  return Float32Array.of(...head, ...resampler.flush())
}

/** Largest difference from the analytic tone, away from the ends. */
function toneError(output: Float32Array, toneHz: number, rateHz: number): number {
  const edge = Math.ceil(rateHz * 0.02)
  let most = 0
  for (let n = edge; n < output.length - edge; n++) {
    const wanted = Math.sin((2 * Math.PI * toneHz * n) / rateHz + 0.3)
    most = Math.max(most, Math.abs(output[n]! - wanted))
  }
  return most
}

function rmsDb(output: Float32Array): number {
  const middle = output.subarray(output.length >> 2, -(output.length >> 2))
  const power = middle.reduce((sum, value) => sum + value * value, 0) / middle.length
  return 10 * Math.log10(power / 0.5)
}

describe.each(rates)('%i Hz to the working rate', (fromHz) => {
  it.each([60, 400, 1200, 1700, 2200, 3200])(
    'a tone of %i Hz comes out as the same tone at the same moments, within 0.02 dB',
    (toneHz) => {
      const output = convert(tone(toneHz, fromHz, fromHz >> 2), fromHz, workingHz)
      expect(output.length).toBe(Math.ceil(((fromHz >> 2) * workingHz) / fromHz))
      expect(toneError(output, toneHz, workingHz)).toBeLessThan(0.0022)
    },
  )

  it('and back again', () => {
    const output = convert(tone(1900, workingHz, 3000), workingHz, fromHz)
    expect(toneError(output, 1900, fromHz)).toBeLessThan(0.0022)
  })

  it('the output does not depend on the borders of blocks, bit for bit', () => {
    const random = seededRandom(5)
    const input = Float32Array.from({ length: 6000 }, () => random() * 2 - 1)
    const whole = convert(input, fromHz, workingHz, 3200)
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 0, max: 5000 }), { maxLength: 12 }), (lengths) => {
        const resampler = createResampler({ fromHz, toHz: workingHz, passbandHz: 3200 })
        const parts: number[] = []
        let at = 0
        for (const length of [1, 1, 0, 3, ...lengths, input.length]) {
          for (const value of resampler.process(input.subarray(at, at + length))) parts.push(value)
          at = Math.min(at + length, input.length)
        }
        for (const value of resampler.flush()) parts.push(value)
        expect(parts.length).toBe(whole.length)
        expect(parts.every((value, index) => Object.is(value, whole[index]))).toBe(true)
      }),
      { seed: 3, numRuns: 20 },
    )
  })
})

describe('aliases and images stay 58 dB down', () => {
  it.each([
    [48000, 12000, 3300, 9000],
    [48000, 12000, 3300, 13500],
    [44100, 12000, 3300, 10000],
    [96000, 12000, 3300, 22500],
    [22050, 12000, 3300, 9800],
    [48000, 12000, undefined, 7300],
  ])('%i to %i Hz, pass band %s: a tone of %i Hz', (fromHz, toHz, passbandHz, toneHz) => {
    expect(
      rmsDb(convert(tone(toneHz, fromHz, fromHz >> 1), fromHz, toHz, passbandHz)),
    ).toBeLessThan(-58)
  })

  it('images of an upsampled tone', () => {
    // 2200 Hz at 8 kHz has its first image at 5800 Hz: nothing but the tone may be left.
    const output = convert(tone(2200, 8000, 4000), 8000, 12000, 3200)
    expect(toneError(output, 2200, 12000)).toBeLessThan(0.0022)
  })
})

it('rates without a common divisor work', () => {
  const output = convert(tone(2200, 44099, 22000), 44099, 12000)
  expect(toneError(output, 2200, 12000)).toBeLessThan(0.0025)
})

it('an impulse comes out where it went in, after delaySamples', () => {
  const resampler = createResampler({ fromHz: 48000, toHz: 12000 })
  const input = new Float32Array(4000)
  input[2000] = 1
  const output = resampler.process(input)
  expect(output.indexOf(Math.max(...output))).toBe(500)
  expect(output.length).toBe(Math.ceil((4000 - resampler.delaySamples) / 4))
})

it('refuses impossible rates', () => {
  for (const fromHz of [0, 999, 44100.5, Number.NaN, 500_000])
    expect(() => createResampler({ fromHz, toHz: 12000 })).toThrow(RangeError)
  expect(() => createResampler({ fromHz: 8000, toHz: 12000, passbandHz: 4000 })).toThrow(RangeError)
})

it('Bessel function of order 0', () => {
  // M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, table 9.8 (from memory).
  expect(besselI0(1)).toBeCloseTo(1.2660658778, 9)
  expect(besselI0(5)).toBeCloseTo(27.239871824, 8)
})

it.each(rates)('%i Hz: a stream takes no more memory with each block', (fromHz) => {
  const resampler = createResampler({ fromHz, toHz: workingHz, passbandHz: 3200 })
  const block = new Float32Array(1000)
  const { buffer } = resampler.process(new Float32Array(2000))
  for (let count = 0; count < 5; count++) expect(resampler.process(block).buffer).toBe(buffer)
})
