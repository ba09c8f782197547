import { expect, it } from 'vitest'
import { whiteNoise } from '../../../dsp/channel/noise.js'
import { createAudioHistory } from '../../../dsp/modem/audioHistory.js'
import { createClippingLog } from '../../../dsp/modem/clippingLog.js'
import { createCorrelatorBank } from '../../../dsp/modem/correlatorBank.js'
import { bandPassHalved, bandPassNoiseGain, createFrontEnd } from '../../../dsp/modem/frontEnd.js'
import { seededRandom } from '../../../src/runtime/random.js'

const power = (samples: ArrayLike<number>): number => {
  let sum = 0
  for (let n = 0; n < samples.length; n++) sum += samples[n]! ** 2
  return sum / samples.length
}

it('wide and narrow audio are the same moments, whatever the blocks', () => {
  const input = whiteNoise(20_000, 0.2, seededRandom(1))
  const whole = createFrontEnd(48000)
  const wide = [...whole.process(input).wide, ...whole.flush().wide]
  expect(wide.length).toBe(5000)
  const expected = bandPassHalved(Float64Array.from(wide))
  const pieces = createFrontEnd(48000)
  const narrow: number[] = []
  for (let at = 0; at < input.length; at += 777)
    narrow.push(...pieces.process(input.subarray(at, at + 777)).narrow)
  narrow.push(...pieces.flush().narrow)
  expect(narrow.length).toBe(5000)
  expect(
    Math.max(...narrow.map((sample, n) => (n % 2 === 0 ? Math.abs(sample - expected[n / 2]!) : 0))),
  ).toBeLessThan(1e-6)
})

it('the band-pass leaves the tones and takes the rest', () => {
  const gain = (hz: number): number => {
    const tone = Float64Array.from({ length: 6000 }, (_, n) =>
      Math.sin((2 * Math.PI * hz * n) / 12000),
    )
    return 10 * Math.log10(power(bandPassHalved(tone).subarray(50, 2950)) / 0.5)
  }
  for (const hz of [1200, 1700, 2200]) expect(Math.abs(gain(hz))).toBeLessThan(1.2)
  for (const hz of [60, 200, 3600, 5000]) expect(gain(hz)).toBeLessThan(-12)
  const noise = Float64Array.from(whiteNoise(100_000, 1, seededRandom(2)))
  expect(power(bandPassHalved(noise))).toBeCloseTo(bandPassNoiseGain(), 1)
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

it('clipping log: shares of recent stretches', () => {
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
