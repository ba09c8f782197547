// Timing out of the band's edge, against the formulas at the head of the file: one sum after the other, nothing kept in rings.
import { describe, expect, it } from 'vitest'
import { gaussian } from '../../../../dsp/channel/gaussian.js'
import { createBandEdge } from '../../../../dsp/modem/baseband/bandEdge.js'
import { modulateBits } from '../../../../dsp/modem/baseband/modulateBaseband.js'
import { seededRandom } from '../../../../src/runtime/random.js'

const sampleRateHz = 48_000
const [bitSamples, hopBits] = [5, 32]

type Complex = readonly [re: number, im: number]
const times = ([a, b]: Complex, [c, d]: Complex): Complex => [a * c - b * d, a * d + b * c]
const plus = ([a, b]: Complex, [c, d]: Complex): Complex => [a + c, b + d]
const sumOf = (terms: readonly Complex[]): Complex => terms.reduce(plus, [0, 0])
const sizeOf = ([re, im]: Complex): number => Math.hypot(re, im)

/** Of each hop: the mean of z^2 over the mean of |z|^2. */
function hopsOf(audio: Float32Array): Complex[] {
  const bits = Array.from({ length: Math.floor(audio.length / bitSamples) }, (_, bit) =>
    sumOf(
      [0, 1, 2, 3, 4].map((n) => {
        const angle = (-2 * Math.PI * 4800 * (bitSamples * bit + n)) / sampleRateHz
        const x = audio[bitSamples * bit + n]!
        return [x * Math.cos(angle), x * Math.sin(angle)]
      }),
    ),
  )
  // h(t) - j (tilt / 2 pi) h'(t) of a low-pass that lasts 8 bits, by the age of each bit's middle.
  const z = bits.map((_, bit) =>
    sumOf(
      Array.from({ length: 8 }, (_, before) => {
        const [age, lasts] = [(before + 0.5) / 9600, 8 / 9600]
        const slope = (Math.PI / lasts) * Math.sin((2 * Math.PI * age) / lasts)
        return times(
          [Math.sin((Math.PI * age) / lasts) ** 2, (-0.0006 / (2 * Math.PI)) * slope],
          bits[bit - before] ?? [0, 0],
        )
      }),
    ),
  )
  return Array.from({ length: Math.floor(z.length / hopBits) }, (_, hop) => {
    const own = z.slice(hop * hopBits, (hop + 1) * hopBits)
    const [re, im] = sumOf(own.map((one) => times(one, one)))
    const power = own.reduce((sum, one) => sum + sizeOf(one) ** 2, 0)
    return power > 0 ? [re / power, im / power] : [0, 0]
  })
}

/** By the strongest of the windows of eight hops that a hop lies in. */
function estimateOf(hops: readonly Complex[], hop: number) {
  const windows = Array.from({ length: Math.min(8, hop + 1) }, (_, before) =>
    sumOf(hops.slice(hop - before, hop - before + 8)),
  )
  const best = windows.reduce((most, one) => (sizeOf(one) > sizeOf(most) ? one : most))
  const near = sumOf(hops.slice(Math.max(0, hop - 1), hop + 2))
  const size = sizeOf(best)
  const turns = -Math.atan2(best[1], best[0]) / (2 * Math.PI)
  return {
    startSample: hop * hopBits * bitSamples + bitSamples * turns,
    coherence: size / 8,
    presence: (near[0] * best[0] + near[1] * best[1]) / (3 * size),
  }
}

const randomLevels = (count: number): Uint8Array => {
  const random = seededRandom(count)
  return Uint8Array.from({ length: count }, () => Math.floor(2 * random()))
}
const noisy = (audio: Float32Array, rms: number): Float32Array => {
  const draw = gaussian(seededRandom(5))
  return audio.map((sample) => sample + rms * draw())
}
const bitsAt = (levels: Uint8Array, symbolRateErrorPpm = 0): Float32Array =>
  modulateBits(levels, { sampleRateHz, peakLevel: 0.5, symbolRateErrorPpm })

/** Noise, bits of a clock that is off by far, noise, bits of another timing: 90 hops, more than are kept. */
const audio = noisy(
  Float32Array.from([
    ...new Float32Array(1700),
    ...bitsAt(randomLevels(1000), 1500),
    ...new Float32Array(1603),
    ...bitsAt(randomLevels(1200)),
    ...new Float32Array(90 * 160 - 1700 - 4993 - 1603 - 6000),
  ]),
  0.05,
)

const expected = hopsOf(audio)

it.each([1, 7, 160, 5000])(
  'in parts of %i samples all of it is as the formulas have it',
  (part) => {
    const bandEdge = createBandEdge()
    const estimate = { startSample: 0, coherence: 0, presence: 0 }
    let next = 0
    let looked = 0
    for (let at = 0; at < audio.length; at += part) {
      bandEdge.append(audio.subarray(at, at + part))
      const count = Math.floor(Math.min(audio.length, at + part) / 160)
      expect(bandEdge.hops).toBe(count)
      const latest = sumOf(expected.slice(Math.max(0, count - 3), count))
      if (at % 35 === 0) expect(bandEdge.latestCoherence()).toBeCloseTo(sizeOf(latest) / 3, 9)
      for (; next + 8 <= count; next++) {
        bandEdge.estimate(next, estimate)
        const wanted = estimateOf(expected, next)
        expect(estimate.coherence).toBeCloseTo(wanted.coherence, 9)
        expect(estimate.presence).toBeCloseTo(wanted.presence, 9)
        expect(estimate.startSample).toBeCloseTo(wanted.startSample, 7)
        looked++
      }
    }
    expect(looked).toBe(83)
  },
)

describe('what it tells', () => {
  const estimateIn = (samples: Float32Array, hop: number) => {
    const bandEdge = createBandEdge()
    bandEdge.append(samples)
    const estimate = { startSample: 0, coherence: 0, presence: 0 }
    bandEdge.estimate(hop, estimate)
    return { ...estimate, latest: bandEdge.latestCoherence() }
  }

  it.each([0, 1.3, 2.5, 4.9])('bits whose middles are %f samples late are found there', (late) => {
    // Of alternating bits only a wave of 4800 Hz is left, which is highest in their middles.
    const wave = Float32Array.from({ length: 20 * 160 }, (_, n) =>
      Math.cos((2 * Math.PI * 4800 * (n - late)) / sampleRateHz),
    )
    const { startSample, coherence, presence, latest } = estimateIn(wave, 9)
    const off = (startSample - 9 * 160 - late) / bitSamples
    expect(off - Math.round(off)).toBeCloseTo(0, 6)
    for (const one of [coherence, presence, latest]) expect(one).toBeCloseTo(1, 6)
  })

  it('of silence there is nothing', () => {
    expect(estimateIn(new Float32Array(20 * 160), 9)).toEqual({
      ...{ startSample: 9 * 160, coherence: 0, presence: 0, latest: 0 },
    })
    expect(createBandEdge().latestCoherence()).toBe(0)
    expect(createBandEdge().hops).toBe(0)
  })

  it('an offset does not touch it', () => {
    const bits = bitsAt(randomLevels(1000))
    const raised = estimateIn(
      bits.map((sample) => sample + 0.3),
      12,
    )
    const asIs = estimateIn(bits, 12)
    expect(raised.startSample).toBeCloseTo(asIs.startSample, 1)
    expect(raised.coherence).toBeCloseTo(asIs.coherence, 2)
  })
})
