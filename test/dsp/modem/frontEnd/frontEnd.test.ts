import { describe, expect, it } from 'vitest'
import { whiteNoise } from '../../../../dsp/channel/noise.js'
import { createCorrelatorBank } from '../../../../dsp/modem/correlators/correlatorBank.js'
import { createAudioHistory } from '../../../../dsp/modem/frontEnd/audioHistory.js'
import {
  bandPassHalved,
  bandPassNoiseGain,
  bandPassReach,
  createBandPass,
} from '../../../../dsp/modem/frontEnd/bandPass.js'
import { createClippingLog } from '../../../../dsp/modem/frontEnd/clippingLog.js'
import { createFrontEnd } from '../../../../dsp/modem/frontEnd/frontEnd.js'
import { seededRandom } from '../../../../src/runtime/random.js'

const power = (samples: ArrayLike<number>): number => {
  let sum = 0
  for (let n = 0; n < samples.length; n++) sum += samples[n]! ** 2
  return sum / samples.length
}

it('the front end does not depend on the borders of blocks', () => {
  const input = whiteNoise(20_000, 0.2, seededRandom(1))
  const whole = createFrontEnd(48000)
  const expected = [...whole.process(input), ...whole.flush()]
  expect(expected.length).toBe(5000)
  const pieces = createFrontEnd(48000)
  const parts: number[] = []
  for (let at = 0; at < input.length; at += 777)
    parts.push(...pieces.process(input.subarray(at, at + 777)))
  parts.push(...pieces.flush())
  expect(parts).toEqual(expected)
})

it.each([7999, 192_001, Number.NaN])('a rate of %f Hz is refused', (rateHz) => {
  expect(() => createFrontEnd(rateHz)).toThrow(
    `front end: got ${rateHz} Hz, expected 8000 to 192000 Hz`,
  )
})

// One second of 1700 Hz, in the middle of the band, comes out as one second of 12 kHz and as loud as it was.
it.each([8000, 192_000])('a rate of %i Hz is taken', (rateHz) => {
  const frontEnd = createFrontEnd(rateHz)
  const tone = Float32Array.from(
    { length: rateHz },
    (_, n) => 0.5 * Math.sin((2 * Math.PI * 1700 * n) / rateHz),
  )
  const output = [...frontEnd.process(tone), ...frontEnd.flush()]
  expect(output).toHaveLength(12_000)
  expect(Math.abs(10 * Math.log10(power(output.slice(6000, 11_000)) / 0.125))).toBeLessThan(0.3)
})

/** Every second sample out of the band-pass, zeros around. */
function halved(samples: ArrayLike<number>): Float64Array {
  const padded = new Float64Array(samples.length + 2 * bandPassReach)
  padded.set(samples, bandPassReach)
  const output = new Float64Array(Math.ceil(samples.length / 2))
  bandPassHalved(padded, output)
  return output
}

describe('band-pass', () => {
  it('keeps to the moments of its input, whatever the blocks, also after a fresh start', () => {
    const input = whiteNoise(5000, 0.2, seededRandom(1))
    const bandPass = createBandPass()
    bandPass.process(input.subarray(0, 100))
    bandPass.reset()
    const parts: number[] = []
    for (let at = 0, length = 1; at < input.length; at += length, length = (length % 97) + 5)
      parts.push(...bandPass.process(input.subarray(at, at + length)))
    parts.push(...bandPass.process(new Float32Array(bandPassReach)))
    expect(parts.length).toBe(5000)
    const expected = halved(input)
    for (let n = 0; n < expected.length; n++)
      expect(Math.abs(parts[2 * n]! - expected[n]!)).toBeLessThan(1e-6)
  })

  it('leaves the tones and takes the rest', () => {
    const gain = (hz: number): number => {
      const tone = Float64Array.from({ length: 6000 }, (_, n) =>
        Math.sin((2 * Math.PI * hz * n) / 12000),
      )
      return 10 * Math.log10(power(halved(tone).subarray(50, 2950)) / 0.5)
    }
    for (const hz of [1200, 1700, 2200]) expect(Math.abs(gain(hz))).toBeLessThan(1.2)
    for (const hz of [60, 200, 3600, 5000]) expect(gain(hz)).toBeLessThan(-12)
    const noise = whiteNoise(100_000, 1, seededRandom(2))
    expect(power(halved(noise))).toBeCloseTo(bandPassNoiseGain(), 1)
  })
})

it('correlators: a tone of amplitude a gives (5 a)^2 in its own window', () => {
  const tone = Float32Array.from(
    { length: 600 },
    (_, n) => 0.4 * Math.sin((2 * Math.PI * 2200 * n) / 12000),
  )
  const { mark, space } = createCorrelatorBank().process(tone)
  // Sum of 10 samples of a*sin times sin or cos: a/2 each, but for the part at twice the tone.
  expect(space.subarray(20).reduce((sum, value) => sum + value, 0) / 580).toBeCloseTo(4, 0)
  // The correlation of the two tones over one symbol is sinc(5/6) = 0.19.
  expect(mark.subarray(20).reduce((sum, value) => sum + value, 0) / 580).toBeLessThan(0.4)
})

it('audio history keeps the latest samples under their numbers', () => {
  const history = createAudioHistory(10)
  for (let block = 0; block < 5; block++)
    history.append(Float32Array.from({ length: 7 }, (_, n) => block * 7 + n))
  expect(history.end).toBe(35)
  expect([...history.slice(30, 37)]).toEqual([30, 31, 32, 33, 34, 0, 0])
  expect([...history.slice(23, 27)]).toEqual([0, 0, 25, 26])
  history.append(Float32Array.from({ length: 23 }, (_, n) => 35 + n))
  expect([...history.slice(47, 50)]).toEqual([0, 48, 49])
})

it('clipping log: shares of recent segments', () => {
  const log = createClippingLog(10_000)
  const block = new Float32Array(1000)
  log.append(block)
  log.append(block.fill(1))
  log.append(block.fill(-1, 0, 500).fill(0.5, 500))
  expect(log.share(0, 1000)).toBeCloseTo(0, 1)
  expect(log.share(1000, 2000)).toBeCloseTo(1, 1)
  expect(log.share(2000, 3000)).toBeCloseTo(0.5, 1)
  for (let n = 0; n < 20; n++) log.append(block.fill(0))
  expect(log.share(15_000, 23_000)).toBe(0)
})

it('what is left at the end of a recording comes out whole', () => {
  const audio = Float32Array.from(whiteNoise(48_000, 0.1, seededRandom(4)))
  const whole = createFrontEnd(48_000)
  const [begun, rest] = [whole.process(audio).slice(), whole.flush()]
  const goesOn = createFrontEnd(48_000)
  const longer = new Float32Array(audio.length + 4_800)
  longer.set(audio)
  const expected = goesOn.process(longer)
  expect(rest.length).toBeGreaterThan(5)
  // The high-pass knows nothing of what follows, as little as that is.
  const errors = [...begun, ...rest].map((sample, at) => Math.abs(sample - expected[at]!))
  expect(Math.max(...errors)).toBeLessThan(0.002)
})
