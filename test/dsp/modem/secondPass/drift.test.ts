// Signals whose tuning wanders by a polynomial that the test knows.
import { describe, expect, it } from 'vitest'
import { findDrift, refineDrift } from '../../../../dsp/modem/secondPass/drift.js'
import { type Burst, takeOutPhase } from '../../../../dsp/modem/secondPass/model.js'
import { burstOfTones, mixedTones } from './burstOfTones.js'

/** Legendre polynomials over a segment, radians a symbol each. */
const driftBy =
  (count: number, [first = 0, second = 0, third = 0]: readonly number[]) =>
  (k: number): number => {
    const x = (2 * k) / count - 1
    return first * x + (second * (3 * x * x - 1)) / 2 + (third * (5 * x ** 3 - 3 * x)) / 2
  }

function drifting(count: number, sizes: readonly number[], wrong: readonly number[] = []): Burst {
  const tones = mixedTones(count)
  const burst = burstOfTones({ tones, driftOf: driftBy(count, sizes), phase: 0.4 })
  for (const k of wrong) {
    expect(tones[k]).not.toBe(tones[k + 1])
    burst.tones[k] = tones[k + 1]!
    burst.tones[k + 1] = tones[k]!
  }
  // Of an earlier segment.
  burst.driftRe.fill(Number.NaN)
  burst.driftIm.fill(Number.NaN)
  return burst
}

/** How far the phases of the residuals are from each other, radians. */
function spreadOf({ count, residualRe, residualIm }: Burst): number {
  const phases: number[] = []
  for (let k = 0; k < count; k++) {
    const before = phases.at(-1) ?? 0
    const turn = Math.atan2(residualIm[k]!, residualRe[k]!) - before
    phases.push(before + turn - 2 * Math.PI * Math.round(turn / (2 * Math.PI)))
  }
  return Math.max(...phases) - Math.min(...phases)
}

const tonesOf = ({ tones, count }: Burst): string => tones.subarray(0, count).join('')

describe('a tuning that wanders', () => {
  it.each([
    ['evenly', [0.1]],
    ['and comes back', [0, 0.1]],
    ['to and fro', [0, 0, -0.1]],
    ['in all ways', [0.15, -0.05, 0.05]],
  ])('%s is found, and taken into the phase', (_how, sizes) => {
    const burst = drifting(400, sizes)
    expect(tonesOf(burst)).toBe(mixedTones(400).join(''))
    findDrift(burst)
    expect(burst.isDrifting).toBe(true)
    takeOutPhase(burst)
    expect(spreadOf(burst)).toBeLessThan(0.3)
    expect(tonesOf(burst).slice(2, -2)).toBe(mixedTones(400).slice(2, -2).join(''))
  })

  it('has its tones decided anew: many were wrong', () => {
    const wrong = [8, 21, 33, 48, 61, 73, 88, 101, 128, 141, 168, 181, 208, 221, 248, 261]
    const burst = drifting(400, [0.15, 0.05], wrong)
    findDrift(burst)
    expect(burst.isDrifting).toBe(true)
    expect(tonesOf(burst).slice(2, -2)).toBe(mixedTones(400).slice(2, -2).join(''))
  })

  it.each([
    [195, false],
    [196, true],
  ])('needs twelve blocks of 16 symbols beside the lag: %i symbols, %s', (count, isDrifting) => {
    const burst = drifting(count, [0.1])
    findDrift(burst)
    expect(burst.isDrifting).toBe(isDrifting)
    // What is found in so few symbols is corrected by the shorter lags.
    if (isDrifting) expect(spreadOf(burst)).toBeLessThan(0.5)
  })

  it('that stands still is none, and its tones stay as they are', () => {
    const burst = burstOfTones({ tones: mixedTones(400), markStep: 0.05, spaceStep: 0.05 })
    ;[burst.tones[8], burst.tones[9]] = [burst.tones[9]!, burst.tones[8]!]
    const before = tonesOf(burst)
    findDrift(burst)
    expect(burst.isDrifting).toBe(false)
    expect(tonesOf(burst)).toBe(before)
    expect(burst.parameters.markStep).toBeCloseTo(0.05, 2)
  })

  it('is followed further, along its tones', () => {
    const sizes = [0.1, 0.03]
    const burst = drifting(400, sizes)
    burst.isDrifting = true
    burst.driftRe.fill(1)
    burst.driftIm.fill(0)
    for (let round = 0; round < 3; round++) refineDrift(burst)
    expect(spreadOf(burst)).toBeLessThan(0.3)
    const drift = (k: number) => Math.atan2(burst.driftIm[k]!, burst.driftRe[k]!)
    const expected = driftBy(400, sizes)
    for (const k of [10, 200, 390])
      expect(drift(k) - drift(100)).toBeCloseTo(expected(k) - expected(100), 2)
  })
})
