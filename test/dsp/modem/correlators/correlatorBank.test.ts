import { describe, expect, it } from 'vitest'
import { createCorrelatorBank } from '../../../../dsp/modem/correlators/correlatorBank.js'

/** A steady tone of amplitude 1 at 12 kHz. */
const tone = (hz: number, count: number, from = 0): Float32Array =>
  Float32Array.from({ length: count }, (_, at) =>
    Math.cos((2 * Math.PI * hz * (from + at)) / 12_000 + 0.4),
  )

describe('powers of the two tones', () => {
  it('over a symbol of ten samples a steady mark tone has (10 / 2)^2, and space what 1200 Hz leaves there', () => {
    const { count, mark, space } = createCorrelatorBank().process(tone(1200, 200))
    expect(count).toBe(200)
    for (let at = 10; at < 200; at++) {
      expect(mark[at]).toBeCloseTo(25, 4)
      // The tones are not quite orthogonal: sinc(5/6) = 0.19 of the amplitude, and the image of the tone besides.
      expect(space[at]!).toBeLessThan(4)
    }
  })

  it('a steady space tone is the stronger one by far', () => {
    const { mark, space } = createCorrelatorBank().process(tone(2200, 200))
    for (let at = 10; at < 200; at++) {
      expect(Math.sqrt(space[at]!)).toBeGreaterThan(4.3)
      expect(Math.sqrt(space[at]!)).toBeLessThan(5.7)
      expect(mark[at]!).toBeLessThan(4)
    }
  })

  it('grow over ten samples from the first one on', () => {
    const { mark } = createCorrelatorBank().process(tone(1200, 20))
    expect(mark[0]!).toBeLessThan(2)
    expect(mark[4]!).toBeGreaterThan(2)
    expect(mark[4]!).toBeLessThan(13)
    expect(mark[9]).toBeCloseTo(25, 4)
  })

  it('do not depend on the blocks that they come in', () => {
    const audio = tone(1500, 187)
    const all = createCorrelatorBank().process(audio)
    const bank = createCorrelatorBank()
    let from = 0
    for (const size of [1, 59, 0, 60, 67]) {
      const { count, mark, space } = bank.process(audio.subarray(from, from + size))
      expect(count).toBe(size)
      for (let at = 0; at < size; at++) {
        expect(mark[at]).toBe(all.mark[from + at])
        expect(space[at]).toBe(all.space[from + at])
      }
      from += size
    }
    expect(from).toBe(187)
  })

  it('after a reset there is silence before', () => {
    const bank = createCorrelatorBank()
    bank.process(tone(1200, 60))
    bank.reset()
    const { mark, space } = bank.process(new Float32Array(30))
    expect([...mark.subarray(0, 30), ...space.subarray(0, 30)].every((power) => power === 0)).toBe(
      true,
    )
  })
})
