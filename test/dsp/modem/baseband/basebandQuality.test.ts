// What is measured of bits whose response, level and clock are known, because a stream is written by hand that has them.
import { describe, expect, it } from 'vitest'
import { gaussian } from '../../../../dsp/channel/gaussian.js'
import { measureBaseband } from '../../../../dsp/modem/baseband/basebandQuality.js'
import { pulseCorrelation, pulseEnergy } from '../../../../dsp/modem/baseband/pulse.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { type ByHand, streamByHand } from './streamByHand.js'

const count = 1000
const first = 20

const random = seededRandom(8)
const all = Uint8Array.from({ length: count + 2 * first }, () => Math.floor(2 * random()))
const bits = all.slice(first, first + count)
const level = (bit: number): number => 2 * (all[bit] ?? 0) - 1

interface Case {
  /** of a bit of 1, by the time behind its middle in bits; half bits are asked for */
  readonly response?: (bits: number) => number
  readonly offset?: number
  readonly noiseRms?: number
  /** in place of what stands there otherwise, at the middle of one of the measured bits */
  readonly valueAt?: (at: number, value: number) => number
  readonly own?: ByHand
}

/** Of a pulse of height 0.4 through its own filter, by half bits from five bits before on. */
const table = Array.from({ length: 20 }, (_, at) => 0.4 * pulseCorrelation(at / 2 - 5))
const own = (time: number): number => table[2 * (time + 5)]!

function measured({ response = own, offset = 0, noiseRms = 0, valueAt, own: more }: Case = {}) {
  const draw = gaussian(seededRandom(9))
  const noise = Array.from({ length: 2 * all.length + 20 }, () => noiseRms * draw())
  /** @param halves half bits from the first bit's middle on */
  const filtered = (halves: number): number => {
    let sum = offset + noise[halves + 10]!
    for (let bit = Math.ceil(halves / 2 - 4); bit <= Math.floor(halves / 2 + 4); bit++) {
      const time = halves / 2 - bit
      // From three bits before to three and a half behind: what is looked at.
      if (time >= -3 && time <= 3.5) sum += level(bit) * response(time)
    }
    return sum
  }
  const stream = streamByHand(all.length, {
    filtered: (position) => filtered(Math.round(position / 2.5)),
    valueAt: (bit) => {
      const value = filtered(2 * bit)
      return valueAt?.(bit - first, value) ?? value
    },
    ...more,
  })
  return measureBaseband(stream, first, bits)
}

describe('level', () => {
  it('is the power of the audio from the first bit to the last', () => {
    const asked: number[][] = []
    const power = (...places: [number, number]): number => {
      asked.push(places)
      return 0.01
    }
    const positionAt = (bit: number): number => 5 * bit + 0.6
    expect(measured({ own: { power, positionAt, filtered: () => 0 } }).levelDbfs).toBeCloseTo(
      -20,
      9,
    )
    expect(asked).toEqual([[5 * first + 1, 5 * (first + count - 1) + 1]])
  })
})

describe('symbol rate', () => {
  // A bit of 5.0005 samples is slow by 99.99 parts in a million.
  it.each([
    [5, 0],
    [5.0005, -99.99],
    [4.999, 200.04],
  ])('of bits that last %f samples: %f ppm', (samples, ppm) => {
    const positionAt = (bit: number): number => 1000 + samples * bit
    expect(measured({ own: { positionAt, filtered: () => 0 } }).symbolRateErrorPpm).toBeCloseTo(
      ppm,
      2,
    )
  })

  it('has no tones that could be off', () => {
    expect(measured().toneOffsetHz).toBe(0)
  })
})

describe('balance', () => {
  /** 20 log of the response at 4000 Hz over that at 400 Hz. */
  const slopeDb = (response: (time: number) => number): number => {
    const gain = (hz: number): number => {
      let [re, im] = [0, 0]
      for (let time = -3; time <= 3.5; time += 0.5) {
        const angle = (2 * Math.PI * hz * time) / 9600
        re += response(time) * Math.cos(angle)
        im += response(time) * Math.sin(angle)
      }
      return Math.hypot(re, im)
    }
    return 20 * Math.log10(gain(4000) / gain(400))
  }

  it('of the pulse as it is sent is none, at any level and offset', () => {
    expect(measured().toneBalanceDb).toBeCloseTo(0, 6)
    expect(measured({ response: (time) => 3 * own(time), offset: 0.7 }).toneBalanceDb).toBeCloseTo(
      0,
      5,
    )
  })

  it.each([
    ['smeared to later bits', (time: number) => own(time) + 0.5 * own(time - 1)],
    ['smeared to earlier halves', (time: number) => own(time) + 0.7 * own(time + 0.5)],
    ['sharpened', (time: number) => own(time) - 0.3 * own(time - 1) - 0.2 * own(time + 1)],
  ])('of one that is %s is that of its spectrum', (_what, response) => {
    const expected = slopeDb(response) - slopeDb(own)
    expect(Math.abs(expected)).toBeGreaterThan(1)
    expect(measured({ response }).toneBalanceDb).toBeCloseTo(expected, 5)
  })
})

describe('Eb/N0', () => {
  // A bit's height over the noise's RMS squared is 2 Eb/N0: 0.4 g(0) over 0.05 g(0) are 18.06 - 3.01 dB. The noise of 1000
  // samples is known to a twentieth or so, and of both halves to a little less.
  it.each([
    [0.05, 15.05],
    [0.1, 9.03],
    [0.2, 3.01],
  ])('in noise of %f: %f dB', (rms, ebN0Db) => {
    const { ebN0Db: found } = measured({ noiseRms: rms * pulseEnergy, offset: 0.3 })
    expect(Math.abs(found - ebN0Db)).toBeLessThan(0.3)
  })

  it('without any is large, and a number', () => {
    const { ebN0Db } = measured()
    expect(ebN0Db).toBeGreaterThan(100)
    expect(ebN0Db).toBeLessThan(200)
  })
})

describe('eye', () => {
  /** One bit by itself: nothing of its neighbours stands in its middle. */
  const response = (time: number): number => (time === 0 ? 0.5 : 0)
  /** A share of the bits at another height, of which 1 is all. */
  const with20 = (share: number, height: number) =>
    measured({
      ...{ response, offset: 0.2 },
      valueAt: (at, value) => (at % 20 < 20 * share ? 0.2 + height * (value - 0.2) : value),
    }).eyeOpening

  it('of bits that all have their height is 1, and never more', () => {
    expect(measured({ response, offset: -3 }).eyeOpening).toBeCloseTo(1, 6)
    expect(with20(0.5, 1.5)).toBeLessThanOrEqual(1)
    expect(with20(1, 2)).toBeCloseTo(1, 6)
  })

  // Two of 20 at 0.4 bring the fitted height down to 0.94.
  it('is what 19 of 20 have', () => {
    expect(with20(1 / 20, 0.4)).toBeGreaterThan(0.95)
    expect(with20(2 / 20, 0.4)).toBeCloseTo(0.4 / 0.94, 1)
  })

  it('is closed where more than one of 20 is on the wrong side', () => {
    expect(with20(2 / 20, -0.5)).toBe(0)
    expect(with20(1 / 20, -0.5)).toBeGreaterThan(0.9)
  })
})

it.each([7, 8, 20])('of %i bits all figures are numbers', (few) => {
  const stream = streamByHand(40, { valueAt: (bit) => level(bit), filtered: (at) => Math.sin(at) })
  const figures = Object.values(measureBaseband(stream, 10, all.slice(10, 10 + few)))
  expect(figures.filter((figure) => !Number.isFinite(figure))).toEqual([])
})
