// Which rate an estimate of symbol timing chooses, and by what it goes: signals without noise whose symbols begin where they were put.
import { describe, expect, it } from 'vitest'
import { whiteNoise } from '../../../../dsp/channel/noise.js'
import { modulateTransmission } from '../../../../dsp/modem/modulateTransmission.js'
import type { TimingEstimate } from '../../../../dsp/modem/sequence/timing.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { testFrame } from '../receiving.js'
import { hopSamples, timed } from './timedHops.js'

const sampleRateHz = 12_000

const estimates = (audio: Float32Array) => timed(audio).estimates

/** Half a second, some 19 hops; symbols begin at every tenth sample. */
const signal = (symbolRateErrorPpm = 0, payloadOctets = 60): Float32Array =>
  modulateTransmission({
    ...{ frames: [testFrame(payloadOctets, seededRandom(45))], preambleMs: 100, tailMs: 50 },
    ...{ sampleRateHz, peakLevel: 0.4, symbolRateErrorPpm },
  })

const behind = (silentSamples: number, audio: Float32Array, then = 0): Float32Array => {
  const out = new Float32Array(silentSamples + audio.length + then)
  out.set(audio, silentSamples)
  return out
}

/** By how many samples an estimate misses the start of a symbol, of those that begin at `start` and so often after it. */
const missOf = ({ startSample }: TimingEstimate, start: number, length = 10): number => {
  const symbols = (startSample - start) / length
  return (symbols - Math.round(symbols)) * length
}
const middleOf = (hop: number): number => (hop + 0.5) * hopSamples

describe('an estimate of symbol timing', () => {
  it.each([0, 1, 3, 5, 8])('of symbols that begin %i samples behind the grid', (late) => {
    const all = estimates(behind(late, signal()))
    expect(all.length).toBeGreaterThan(10)
    for (const [hop, estimate] of all.entries()) {
      expect(Math.abs(missOf(estimate, late))).toBeLessThan(0.06)
      expect(Math.abs(estimate.startSample - middleOf(hop))).toBeLessThanOrEqual(5.06)
      expect(estimate.rateError).toBe(0)
      // Flags in a row do not change their tone often.
      if (hop > 3) expect(estimate.quality).toBeGreaterThan(0.7)
      expect(estimate.quality).toBeLessThanOrEqual(1)
    }
  })

  // Rates are tried every 3906 ppm; what lies between is found by the parabola, and less than 1200 ppm is taken for none.
  it.each([
    -44_000, -25_390, -21_484, -11_000, -3906, -1600, 1600, 3906, 7812, 9700, 25_390, 44_000,
  ])('of a sender %i ppm off', (ppm) => {
    const length = 10 / (1 + ppm * 1e-6)
    const inside = estimates(signal(ppm, 120)).slice(2, -4)
    expect(inside.length).toBeGreaterThan(10)
    // Three symbols of ten samples lie best around the middle of three that are as long as they are.
    const shifted = 1.5 * (length - 10)
    for (const estimate of inside) {
      expect(Math.abs(estimate.rateError * 1e6 - ppm)).toBeLessThan(200)
      expect(Math.abs(missOf(estimate, shifted, length))).toBeLessThan(0.6)
      expect(estimate.quality).toBeGreaterThan(0.5)
    }
  })

  it.each([-1000, 1000])('a sender %i ppm off is taken for exact', (ppm) => {
    const inside = estimates(signal(ppm)).slice(2, -4)
    expect(inside.filter(({ rateError }) => rateError === 0).length).toBeGreaterThan(
      0.8 * inside.length,
    )
  })

  // 128 symbols of a sender 2600 ppm off lose 32 % of their line at the nominal rate, and 9 % at the next; that must win by 43 %.
  it('another rate must win clearly; between the rates goes half a step from the one that won', () => {
    const rates = (ppm: number): number[] =>
      estimates(signal(ppm))
        .slice(4, -4)
        .map(({ rateError }) => rateError * 1e6)
    for (const rate of rates(2600)) expect(rate).toBeCloseTo(1953.125, 6)
    for (const rate of rates(-2600)) expect(rate).toBeCloseTo(-1953.125, 6)
    for (const rate of rates(3300)) expect(Math.abs(rate - 3300)).toBeLessThan(200)
  })

  it.each([-1, 1])('the farthest rate is 4.7 %% (%i), however far a sender is off', (sign) => {
    for (const { rateError } of estimates(signal(sign * 50_000)).slice(4, -4))
      expect(rateError).toBe((sign * 12) / 256)
  })

  it('what is quiet counts as much as what is loud', () => {
    const plain = signal(0, 120)
    const uneven = plain.map((sample, at) =>
      Math.floor(at / (2 * hopSamples)) % 2 === 0 ? sample : sample / 64,
    )
    const even = estimates(plain)
    for (const [hop, { quality, startSample }] of estimates(uneven).entries()) {
      expect(Math.abs(quality - even[hop]!.quality)).toBeLessThan(0.2)
      expect(Math.abs(startSample - even[hop]!.startSample)).toBeLessThan(0.2)
    }
  })

  it('goes by no window that its hop is not in', () => {
    const clear = signal(0, 120).subarray(0, 20 * hopSamples)
    const random = seededRandom(47)
    const weak = signal(0, 120)
    const noise = whiteNoise(weak.length, 0.33, random)
    const audio = new Float32Array(clear.length + 5 + weak.length)
    audio.set(clear)
    audio.set(
      weak.map((sample, at) => sample + noise[at]!),
      clear.length + 5,
    )
    // Of the windows with this hop one still has one hop of what was before; the one before it would have three of that.
    const found = estimates(audio)[22]!
    expect(Math.abs(missOf(found, clear.length + 5))).toBeLessThan(1.5)
  })
})
