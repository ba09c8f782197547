import FFT from 'fft.js'
import { describe, expect, it } from 'vitest'
import { modulateBits } from '../../../../dsp/modem/baseband/modulateBaseband.js'
import {
  pulse,
  pulseCorrelation,
  pulsePeak,
  rollOff,
} from '../../../../dsp/modem/baseband/pulse.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { fec } from '../../../published/fec.js'

const sampleRateHz = 48_000

describe('the pulse', () => {
  it('is 1 at its own bit and 0 at all others', () => {
    for (let bit = -8; bit <= 8; bit++) expect(pulse(bit)).toBeCloseTo(bit === 0 ? 1 : 0, 12)
  })

  it('has the two points of the published spectrum: -6 dB at 4800 Hz, -60 dB at 7500 Hz', () => {
    expect(fec.bits_9600.spectrum).toContain('-6 dB at 4800 Hz, -60 dB at 7500 Hz')
    // Its transform as a sum over time, without the formula of its spectrum.
    const at = (hz: number): number => {
      let sum = 0
      for (let step = -60_000; step <= 60_000; step++)
        sum += pulse(step / 1000) * Math.cos((2 * Math.PI * hz * step) / 1000 / 9600)
      return 20 * Math.log10(Math.abs(sum) / 1000)
    }
    expect(at(0)).toBeCloseTo(0, 3)
    expect(at(4800)).toBeCloseTo(-6.02, 2)
    expect(at(7500)).toBeCloseTo(-60, 0)
  })

  it('correlates with itself as the folded spectrum says, and as the sum over time does', () => {
    const sinc = (x: number): number => (x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x))
    for (const bits of [0, 1, 2, 3, 0.5, 1.5]) {
      let sum = 0
      for (let step = -3000; step <= 3000; step++)
        sum += pulse(step / 100) * pulse(step / 100 - bits)
      expect(pulseCorrelation(bits)).toBeCloseTo(sum / 100, 5)
      if (!Number.isInteger(bits)) continue
      const x = bits * rollOff
      const closed = (((-1) ** bits * rollOff) / 4) * (sinc(x) / (1 - x * x))
      expect(pulseCorrelation(bits)).toBeCloseTo((bits === 0 ? 1 : 0) - closed, 6)
    }
  })
})

describe('bits as audio', () => {
  const random = seededRandom(1)
  const levels = Uint8Array.from({ length: 8192 }, () => (random() < 0.5 ? 0 : 1))

  it.each([19_200, 22_050, 44_100, 48_000, 96_000])(
    'at %i Hz it never exceeds its level',
    (rate) => {
      const samples = modulateBits(levels, { sampleRateHz: rate, peakLevel: 0.5 })
      expect(samples).toHaveLength(Math.ceil((8192 * rate) / 9600))
      const peak = samples.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0)
      expect(peak).toBeLessThanOrEqual(0.5)
      expect(peak).toBeGreaterThan(0.42)
    },
  )

  it('each bit has its height in its middle', () => {
    const samples = modulateBits(levels, { sampleRateHz: 96_000, peakLevel: pulsePeak })
    for (let bit = 8; bit < levels.length - 8; bit++)
      expect(samples[10 * bit + 5]).toBeCloseTo(2 * levels[bit]! - 1, 2)
  })

  it('lies within 7.5 kHz: a thousandth of the power density above it', () => {
    const samples = modulateBits(levels, { sampleRateHz, peakLevel: 1 })
    const size = 32_768
    const fft = new FFT(size)
    const out = fft.createComplexArray() as number[]
    // A Hann window, so that the ends do not smear.
    const windowed = Array.from(
      { length: size },
      (_, n) => samples[n + 2000]! * Math.sin((Math.PI * n) / size) ** 2,
    )
    fft.realTransform(out, windowed)
    const power = (fromHz: number, toHz: number): number => {
      const [from, to] = [fromHz, toHz].map((hz) => Math.round((hz * size) / sampleRateHz))
      let sum = 0
      for (let k = from!; k < to!; k++) sum += out[2 * k]! ** 2 + out[2 * k + 1]! ** 2
      return 10 * Math.log10(sum / (to! - from!))
    }
    const flat = power(200, 1900)
    expect(power(4700, 4900) - flat).toBeCloseTo(-6, -0.5)
    expect(power(7500, 9000) - flat).toBeLessThan(-58)
  })

  it('the bit clock is that asked for', () => {
    const fast = modulateBits(new Uint8Array(9600), {
      ...{ sampleRateHz, peakLevel: 1 },
      symbolRateErrorPpm: 1000,
    })
    expect(fast).toHaveLength(Math.ceil(48_000 / 1.001))
  })

  it('refuses a rate that the signal does not fit', () => {
    expect(() => modulateBits(levels, { sampleRateHz: 16_000, peakLevel: 1 })).toThrow(RangeError)
  })
})
