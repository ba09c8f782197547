// One audio out of several receivers of one channel.
import { describe, expect, it } from 'vitest'
import { whiteNoise } from '../../../dsp/channel/noise.js'
import { createReceiverMixture } from '../../../dsp/modem/mixture.js'
import { modulateTransmission } from '../../../dsp/modem/modulateTransmission.js'
import { meanPower } from '../../../dsp/numbers/power.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { testFrame } from './receiving.js'

const sampleRateHz = 16_000
/** 1.5 ms and 4 ms: the longest delay between receivers, and the time over which noise is averaged. */
const delaySamples = 24 + 64

const signal = modulateTransmission({
  frames: [testFrame(120, seededRandom(50))],
  ...{ preambleMs: 200, tailMs: 30, sampleRateHz, peakLevel: 0.3 },
})

/** The signal so many samples later, or earlier where negative. */
const later = (samples: number, gain = 1): Float32Array =>
  signal.map((_, at) => gain * (signal[at - samples] ?? 0))

const noisy = (audio: Float32Array, rms: number, seed: number): Float32Array => {
  const noise = whiteNoise(audio.length, rms, seededRandom(seed))
  return audio.map((sample, at) => sample + noise[at]!)
}

/**
 * Share of the power at a frequency that a Butterworth high-pass of fourth order at 4200 Hz lets through, by the bilinear transform:
 * 1 / (1 + (tan(pi 4200 / rate) / tan(pi f / rate))^8) (handbooks, from memory). A weight is the inverse square of that power.
 */
const powerAt = (hz: number): number =>
  1 /
  (1 + (Math.tan((Math.PI * 4200) / sampleRateHz) / Math.tan((Math.PI * hz) / sampleRateHz)) ** 8)

function mix(receivers: readonly Float32Array[], blockSamples = 500): Float32Array {
  const mixture = createReceiverMixture(sampleRateHz, receivers.length)!
  const out = new Float32Array(receivers[0]!.length)
  for (let at = 0; at < out.length; at += blockSamples)
    out.set(mixture.push(receivers.map((one) => one.subarray(at, at + blockSamples))), at)
  return out
}

/** Power of what is not the signal over the signal's, dB, from half a second on, when delays are known. */
function errorDb(mixed: Float32Array): number {
  const from = sampleRateHz / 2
  const rest = mixed
    .subarray(from)
    .map((sample, at) => sample - (signal[from + at - delaySamples] ?? 0))
  return 10 * Math.log10(meanPower(rest) / meanPower(signal.subarray(from)))
}

describe('the audio of several receivers', () => {
  it('there is none below 16 kHz, where no band is left above the signal', () => {
    expect(createReceiverMixture(15_999, 2)).toBeUndefined()
    expect(createReceiverMixture(16_000, 2)?.delaySamples).toBe(delaySamples)
    expect(createReceiverMixture(48_000, 2)?.delaySamples).toBe(72 + 192)
  })

  it('of two that hear the same it is what they hear, so much later', () => {
    const mixed = mix([signal, signal])
    for (let at = delaySamples; at < mixed.length; at++)
      expect(Math.abs(mixed[at]! - signal[at - delaySamples]!)).toBeLessThan(1e-6)
  })

  it('does not depend on the blocks that it comes in', () => {
    const both = [noisy(signal, 0.05, 1), noisy(later(9), 0.05, 2)]
    expect(mix(both, 333)).toEqual(mix(both, 5000))
  })

  it.each([
    [0, 1],
    [7, 1],
    [-7, 1],
    [24, 1],
    [-24, 1],
    [5, -1],
    [-24, -1],
  ])(
    'one that hears it %i samples later, with the sign %i, is brought to the first one',
    (samples, sign) => {
      expect(errorDb(mix([signal, later(samples, sign)]))).toBeLessThan(-45)
    },
  )

  it('one that is more than 1.5 ms away is not brought to it', () => {
    expect(errorDb(mix([signal, later(26)]))).toBeGreaterThan(-12)
  })

  it('two with noise of their own give less of it than one: 3 dB', () => {
    const [a, b] = [noisy(signal, 0.06, 3), noisy(later(11), 0.06, 4)]
    const alone = errorDb(mix([a, a]))
    const both = errorDb(mix([a, b]))
    expect(alone - both).toBeGreaterThan(2)
    expect(alone - both).toBeLessThan(3.5)
  })

  it('each counts by how quiet it is at that moment', () => {
    const quietThenLoud = (first: boolean, seed: number): Float32Array => {
      const noise = whiteNoise(signal.length, 1, seededRandom(seed))
      const span = sampleRateHz / 50
      return signal.map((sample, at) => {
        const isLoud = (Math.floor(at / span) % 2 === 0) === first
        return sample + (isLoud ? 0.5 : 0.005) * noise[at]!
      })
    }
    const [a, b] = [quietThenLoud(true, 5), quietThenLoud(false, 6)]
    expect(errorDb(mix([a, a]))).toBeGreaterThan(0)
    expect(errorDb(mix([a, b]))).toBeLessThan(-10)
  })

  it('hears three', () => {
    const three = [noisy(signal, 0.06, 7), noisy(later(4, -1), 0.06, 8), noisy(later(-9), 0.06, 9)]
    expect(errorDb(mix([three[0]!, three[0]!])) - errorDb(mix(three))).toBeGreaterThan(3.5)
  })

  it('one that hears something else first is brought to the first one once it hears it', () => {
    const half = signal.length >> 1
    const noise = whiteNoise(signal.length, 0.02, seededRandom(10))
    // The other receiver hears hiss at first, then the signal 6 samples later.
    const other = later(6).map((sample, at) => (at < half ? 5 * noise[at]! : sample))
    const mixed = mix([signal, other])
    const from = half + sampleRateHz / 4
    const rest = mixed
      .subarray(from)
      .map((sample, at) => sample - signal[from + at - delaySamples]!)
    expect(10 * Math.log10(meanPower(rest) / meanPower(signal))).toBeLessThan(-30)
  })

  it.each([
    [5000, 4200],
    [4200, 6500],
    [3000, 3600],
  ])('noise at %i Hz and at %i Hz counts as the filter lets it through', (firstHz, otherHz) => {
    const heard = (level: number, hz: number): Float32Array =>
      Float32Array.from(
        { length: sampleRateHz },
        (_, at) => level + 0.5 * Math.sin((2 * Math.PI * hz * at) / sampleRateHz),
      )
    const mixed = mix([heard(1, firstHz), heard(0, otherHz)]).subarray(sampleRateHz / 2)
    const mean = mixed.reduce((sum, sample) => sum + sample, 0) / mixed.length
    const [first, other] = [1 / powerAt(firstHz) ** 2, 1 / powerAt(otherHz) ** 2]
    expect(Math.abs(mean - first / (first + other))).toBeLessThan(0.01)
  })

  it('what is not alike is taken as it comes', () => {
    const tone = (hz: number): Float32Array =>
      Float32Array.from({ length: sampleRateHz }, (_, at) =>
        Math.sin((2 * Math.PI * hz * at) / sampleRateHz),
      )
    const [a, b] = [tone(2500), tone(2600)]
    const [first, other] = [1 / powerAt(2500) ** 2, 1 / powerAt(2600) ** 2]
    const mixed = mix([a, b])
    for (let at = sampleRateHz / 2; at < sampleRateHz; at++) {
      const sum = first * a[at - delaySamples]! + other * b[at - delaySamples]!
      expect(Math.abs(mixed[at]! - sum / (first + other))).toBeLessThan(0.02)
    }
  })

  it('one whose sign changes is brought round', () => {
    const long = new Float32Array(3 * signal.length)
    for (let at = 0; at < 3; at++) long.set(signal, at * signal.length)
    const flipsAt = sampleRateHz / 4
    const mixed = mix([long, long.map((sample, at) => (at < flipsAt ? sample : -sample))])
    const from = 2 * signal.length
    const rest = mixed.subarray(from).map((sample, at) => sample - long[from + at - delaySamples]!)
    expect(meanPower(rest) / meanPower(long)).toBeLessThan(1e-4)
  })
})
