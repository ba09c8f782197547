import { describe, expect, it } from 'vitest'
import { lineJumpIn } from '../../../dsp/causes/lineJump.js'
import { whiteNoise } from '../../../dsp/channel/noise.js'
import { seededRandom } from '../../../src/runtime/random.js'

const rateHz = 12_000
const lengthSamples = 12_000
const cutAt = 6_000

/** A sine of amplitude 0.3 with noise; `lost` samples are gone from `cutAt` on. */
function tone(hz: number, lost: number, amplitudeAt = (_: number): number => 0.3): Float32Array {
  const noise = whiteNoise(lengthSamples, 0.05, seededRandom(4))
  return noise.map((sample, at) => {
    const time = at < cutAt ? at : at + lost
    return sample + amplitudeAt(at) * Math.sin((2 * Math.PI * hz * time) / rateHz + 1)
  })
}

const within = { from: 2_000, to: 10_000 }

describe('a jump of a tone', () => {
  // 50 Hz turn a quarter in 5 ms, 60 Hz a fifth in 20 ms (1.2 turns), 123 Hz 0.47 in 12 ms (1.47 turns).
  it.each([
    [50, 0.3, 60, 0.25],
    [60, 0.3, 240, 0.2],
    [123, 1.5, 144, 0.476],
  ])(
    'of %f Hz where samples were lost: its place and how far it turned',
    (hz, strayHz, lost, turns) => {
      const jump = lineJumpIn(tone(hz, lost), { hz, strayHz, ...within })!
      expect(Math.abs(jump.atSample - cutAt)).toBeLessThanOrEqual(240)
      expect(jump.size).toBeCloseTo(turns, 1)
      expect(jump.ratio).toBeCloseTo(1, 1)
      expect(jump.explained).toBeGreaterThan(0.8)
    },
  )

  it('is none where mains stray by 0.2 Hz from their frequency', () => {
    const jump = lineJumpIn(tone(50.2, 0), { hz: 50, strayHz: 0.3, ...within })!
    expect(jump.explained * jump.size).toBeLessThan(0.02)
  })

  it('nor where nothing else is heard, so that the smallest fault of the sum would be all there is', () => {
    const clean = Float32Array.from({ length: lengthSamples }, (_, at) =>
      Math.sin((2 * Math.PI * 50 * at) / rateHz),
    )
    const jump = lineJumpIn(clean, { hz: 50, strayHz: 0.3, ...within })!
    expect(jump.explained).toBeLessThan(0.1)
    expect(
      lineJumpIn(new Float32Array(lengthSamples), { hz: 50, strayHz: 0.3, ...within }),
    ).toEqual(expect.objectContaining({ explained: 0 }))
  })

  it('is told from a tone that begins there by how loud it was before', () => {
    const begins = tone(50, 0, (at) => (at < cutAt ? 0.03 : 0.3))
    const jump = lineJumpIn(begins, { hz: 50, strayHz: 0.3, ...within })!
    expect(jump.ratio).toBeGreaterThan(5)
  })

  it('is looked for only between the two moments', () => {
    const { atSample } = lineJumpIn(tone(50, 60), {
      hz: 50,
      strayHz: 0.3,
      from: 7_500,
      to: 11_000,
    })!
    expect(atSample).toBeGreaterThanOrEqual(7_500)
  })

  it('is not looked for in less than what is heard of the tone before and behind', () => {
    const search = { hz: 50, strayHz: 0.3, from: 0, to: 1_300 }
    expect(lineJumpIn(tone(50, 60), search)).toBeUndefined()
    expect(lineJumpIn(tone(50, 60), { ...search, from: 3_000, to: 3_100 })).toBeUndefined()
    expect(lineJumpIn(tone(50, 60), { ...search, from: 3_000, to: 3_600 })).toBeDefined()
  })
})
