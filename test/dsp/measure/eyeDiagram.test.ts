import { describe, expect, it } from 'vitest'
import { type EyeDiagram, eyeDiagram } from '../../../dsp/measure/eyeDiagram.js'
import { modulateLevels } from '../../../dsp/modem/modulator.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { addNoise } from '../../channel/addNoise.js'

const sampleRateHz = 12_000
const random = seededRandom(1)
const levels = Uint8Array.from({ length: 600 }, () => (random() < 0.5 ? 0 : 1))
const clean = modulateLevels(levels, { sampleRateHz, peakLevel: 0.3 })

/** Share of what lies in the middle third at the moments of decision: a quarter and three quarters of two symbols. */
function closedShare({ width, height, density }: EyeDiagram): number {
  let [inside, all] = [0, 0]
  for (const column of [width / 4, (3 * width) / 4])
    for (let row = 0; row < height; row++) {
      const value = density[row * width + column]!
      all += value
      if (row >= height / 3 && row < (2 * height) / 3) inside += value
    }
  return inside / all
}

describe('the eye', () => {
  it('is open for a clean signal, wherever its symbols begin, and with one tone 10 dB low', () => {
    for (const skipped of [0, 3, 7])
      expect(closedShare(eyeDiagram(clean.subarray(skipped)))).toBeLessThan(0.02)
    // A first-order low-pass, as a loudspeaker output is.
    let last = 0
    const low = clean.map((sample) => {
      last += 0.3 * (sample - last)
      return last
    })
    expect(closedShare(eyeDiagram(low))).toBeLessThan(0.05)
  })

  it('is open for a sender that is 500 ppm off', () => {
    const fast = modulateLevels(levels, { sampleRateHz: 12_006, peakLevel: 0.3 })
    expect(closedShare(eyeDiagram(fast))).toBeLessThan(0.03)
  })

  it('is closed by noise, and shows both tones in their places', () => {
    expect(closedShare(eyeDiagram(addNoise(clean, 1, seededRandom(2))))).toBeGreaterThan(0.2)
    const { width, height, density } = eyeDiagram(clean.map(() => 0))
    expect(density.length).toBe(width * height)
    const marks = modulateLevels(new Uint8Array(300).fill(1), { sampleRateHz, peakLevel: 0.3 })
    const spaces = modulateLevels(new Uint8Array(100), { sampleRateHz, peakLevel: 0.3 })
    const mostlyMark = eyeDiagram(Float32Array.from([...marks, ...spaces]))
    const sumOf = (from: number, to: number): number =>
      mostlyMark.density.subarray(from * width, to * width).reduce((sum, one) => sum + one, 0)
    expect(sumOf(0, height / 2)).toBeGreaterThan(2 * sumOf(height / 2, height))
  })

  it('takes what is empty or shorter than a symbol', () => {
    for (const length of [0, 1, 9, 25])
      expect([...eyeDiagram(new Float32Array(length)).density].every(Number.isFinite)).toBe(true)
  })
})
