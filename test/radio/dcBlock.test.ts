import { describe, expect, it } from 'vitest'
import { createDcBlock } from '../../src/radio/dcBlock.js'

const rateHz = 12_000
const constant = (length: number, value: number): Float32Array =>
  new Float32Array(length).fill(value)

describe('the constant part of audio', () => {
  it('is taken out from the first sample on, and a tone stays as it was', () => {
    const block = createDcBlock(rateHz)
    const first = block(constant(240, 0.05))
    expect(first.every((sample) => Math.abs(sample) < 1e-6)).toBe(true)
    const tone = Float32Array.from(
      { length: rateHz },
      (_, at) => 0.05 + 0.3 * Math.sin((2 * Math.PI * 1200 * at) / rateHz),
    )
    const out = block(tone)
    const error = out.map((sample, at) => sample - (tone[at]! - 0.05))
    expect(error.every((one) => Math.abs(one) < 0.02)).toBe(true)
    expect(tone[0]).toBeCloseTo(0.05, 6)
  })

  it('that changes is gone after some time constants of 20 Hz (8 ms)', () => {
    const block = createDcBlock(rateHz)
    block(constant(240, 0))
    const out = block(constant(960, 0.1))
    expect(out[0]).toBeCloseTo(0.1, 2)
    // exp(-1) of it is left after 1 / (2 pi 20) s
    expect(out[Math.round(rateHz / (2 * Math.PI * 20)) - 1]).toBeCloseTo(0.1 / Math.E, 3)
    expect(Math.abs(out.at(-1)!)).toBeLessThan(1e-4)
  })

  it('samples that are no numbers come out as silence, and leave no trace', () => {
    const block = createDcBlock(rateHz)
    expect(block(constant(3, Number.NaN))).toEqual(constant(3, 0))
    const odd = Float32Array.of(Number.NaN, 0.05, Number.POSITIVE_INFINITY, 0.05)
    const out = block(odd)
    expect([...out].map((sample) => Math.round(sample * 1e6))).toEqual([0, 0, 0, 0])
    expect(block(constant(4, 0.05)).every((sample) => Math.abs(sample) < 1e-6)).toBe(true)
  })
})
