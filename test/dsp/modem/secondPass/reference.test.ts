// The phase reference of a segment whose residuals are written down: angles, and no more noise than is put there.
import { describe, expect, it } from 'vitest'
import { gaussian } from '../../../../dsp/channel/gaussian.js'
import { type Burst, createBurst } from '../../../../dsp/modem/secondPass/model.js'
import { fitReference } from '../../../../dsp/modem/secondPass/reference.js'
import { seededRandom } from '../../../../src/runtime/random.js'

/** What one more space tone in the past changes, with both steps nominal: 11/6 of a turn less two, -60 degrees. */
const slip = -Math.PI / 3

interface Given {
  readonly count: number
  /** of the residual of each symbol, radians */
  readonly angleOf: (symbol: number) => number
  readonly noise?: number
  readonly amplitudeOf?: (symbol: number) => number
  readonly reliabilityOf?: (symbol: number) => number
}

function fitted({ count, angleOf, noise = 0, ...of }: Given): number[] {
  const burst: Burst = createBurst()
  burst.count = count
  const draw = gaussian(seededRandom(51))
  for (let k = 0; k < count; k++) {
    const amplitude = of.amplitudeOf?.(k) ?? 1
    burst.residualRe[k] = amplitude * Math.cos(angleOf(k)) + noise * draw()
    burst.residualIm[k] = amplitude * Math.sin(angleOf(k)) + noise * draw()
    burst.reliability[k] = of.reliabilityOf?.(k) ?? 1
  }
  fitReference(burst)
  return Array.from({ length: count }, (_, k) => {
    expect(Math.hypot(burst.referenceRe[k]!, burst.referenceIm[k]!)).toBeCloseTo(1, 9)
    return Math.atan2(burst.referenceIm[k]!, burst.referenceRe[k]!)
  })
}

/** Angle by which each reference misses a line, -pi to pi. */
const misses = (found: readonly number[], lineOf: (symbol: number) => number): number[] =>
  found.map((angle, k) => {
    const turns = (angle - lineOf(k)) / (2 * Math.PI)
    return Math.abs(2 * Math.PI * (turns - Math.round(turns)))
  })
const largest = (values: readonly number[]): number => Math.max(...values)

describe('the phase reference', () => {
  it.each([
    [5, 0.7, 0],
    [20, -2, 0],
    [24, 3, 0],
    [47, 0.2, 0],
    [48, 1, 0],
    [240, 0.4, 0.008],
    [240, -3, -0.008],
    [1000, 2.5, 0.004],
  ])('of %i symbols along a straight line is that line', (count, start, slope) => {
    const line = (k: number): number => start + slope * k
    expect(largest(misses(fitted({ count, angleOf: line }), line))).toBeLessThan(1e-6)
  })

  it.each([-1, 1])('goes straight on where the residuals slip (%i)', (sign) => {
    const line = (k: number): number => 0.5 + 0.01 * k
    const angleOf = (k: number): number => line(k) + (k >= 120 ? sign * slip : 0)
    expect(largest(misses(fitted({ count: 240, angleOf }), line))).toBeLessThan(0.02)
  })

  it('goes straight on through three slips, the third of them back', () => {
    const line = (k: number): number => 1 - 0.01 * k
    const slips = (k: number): number => (k >= 96 ? 1 : 0) + (k >= 192 ? 1 : 0) - (k >= 288 ? 1 : 0)
    const angleOf = (k: number): number => line(k) + slips(k) * slip
    expect(largest(misses(fitted({ count: 480, angleOf }), line))).toBeLessThan(0.02)
  })

  // Half a slip is 30 degrees; it must fit better by 0.12 rad, so what turns by 33 degrees is followed and 37 is a slip.
  it.each([
    [33, 33],
    [37, 37 - 60],
  ])('a step of %i degrees is one of %i', (degrees, expected) => {
    const radians = (degrees * Math.PI) / 180
    const found = fitted({ count: 480, angleOf: (k) => (k >= 240 ? -radians : 0) })
    const turned = ((found[479]! - found[0]!) * 180) / Math.PI
    expect(Math.abs(turned + expected)).toBeLessThan(9)
  })

  it('follows what turns slowly, about 33 symbols late from each side', () => {
    const angleOf = (k: number): number => 0.4 * Math.sin((2 * Math.PI * k) / 800)
    const found = fitted({ count: 1600, angleOf })
    expect(largest(misses(found, angleOf))).toBeLessThan(0.2)
    expect(largest(misses(found.slice(200, -200), (k) => angleOf(k + 200)))).toBeLessThan(0.04)
  })

  it('leaves out the symbol itself and its neighbours', () => {
    const wrong = 100
    const count = 240
    // Louder than all others together.
    const found = fitted({
      count,
      angleOf: (k) => (k === wrong ? Math.PI / 2 : 0),
      amplitudeOf: (k) => (k === wrong ? 40 : 1),
    })
    // The line is laid through its block as well; but only those further off are drawn to it by themselves.
    const [near, further] = [
      [wrong - 1, wrong, wrong + 1],
      [wrong - 2, wrong + 2],
    ].map((symbols) => symbols.map((k) => found[k]!)) as [number[], number[]]
    expect(largest(near)).toBeLessThan(Math.min(...further) - 0.3)
  })

  it('what is not reliable does not count', () => {
    const angleOf = (k: number): number => (k >= 96 && k < 144 ? 2 : 0.3)
    const reliabilityOf = (k: number): number => (k >= 96 && k < 144 ? 0 : 1)
    expect(largest(misses(fitted({ count: 240, angleOf, reliabilityOf }), () => 0.3))).toBeLessThan(
      1e-6,
    )
    expect(largest(misses(fitted({ count: 240, angleOf }), () => 0.3))).toBeGreaterThan(0.3)
  })

  it('a line through noise, 5 dB below the signal', () => {
    const line = (k: number): number => -1 + 0.004 * k
    const found = misses(fitted({ count: 480, angleOf: line, noise: 0.4 }), line)
    expect(largest(found)).toBeLessThan(0.5)
    expect(found.reduce((sum, miss) => sum + miss, 0) / found.length).toBeLessThan(0.13)
  })

  it('of nothing at all it is some direction', () => {
    const burst = createBurst()
    burst.count = 48
    fitReference(burst)
    for (let k = 0; k < 48; k++) expect(Number.isFinite(burst.referenceRe[k]!)).toBe(true)
  })
})
