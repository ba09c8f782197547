// What of a signal can be fitted when its tones are known: signals without noise, of which every figure is known.
import { describe, expect, it } from 'vitest'
import {
  type Burst,
  fitAmplitudes,
  fitSteps,
  fitTilt,
  slipAngle,
  takeOutPhase,
} from '../../../../dsp/modem/secondPass/model.js'
import { spaceTurnRadians } from '../burstByHand.js'
import { burstOfTones, mixedTones } from './burstOfTones.js'

const column = (values: Float64Array, count: number): number[] => [...values.subarray(0, count)]
const near = (values: readonly number[], digits = 9) =>
  values.map((value) => expect.closeTo(value, digits))

it('a space more in the past turns the phase by a sixth of a turn less, and by what the steps differ', () => {
  const { parameters } = burstOfTones({ tones: [] })
  expect(slipAngle(parameters)).toBeCloseTo(-Math.PI / 3, 9)
  expect(slipAngle({ ...parameters, markStep: 0.1, spaceStep: 0.3 })).toBeCloseTo(
    0.2 - Math.PI / 3,
    9,
  )
})

describe('the phase that is taken out', () => {
  it('adds up the steps of the tones before', () => {
    const burst = burstOfTones({ tones: [1, 0, 0, 1] })
    Object.assign(burst.parameters, { markStep: 0.1, spaceStep: -0.2 })
    takeOutPhase(burst)
    const space = spaceTurnRadians - 0.2
    const phases = [0, 0.1, 0.1 + space, 0.1 + 2 * space]
    expect(column(burst.phaseRe, 4)).toEqual(near(phases.map(Math.cos)))
    expect(column(burst.phaseIm, 4)).toEqual(near(phases.map(Math.sin)))
    expect(burst.phaseRe[4]).toBeNaN()
    expect(burst.residualRe[4]).toBeNaN()
  })

  it('leaves a signal of these parameters where it began', () => {
    const known = { markStep: 0.1, spaceStep: -0.2, tilt: 0.3 }
    const tones = mixedTones(20)
    const burst = burstOfTones({ tones, ...known, spaceAmplitude: 0.5, phase: 0.7 })
    Object.assign(burst.parameters, known)
    takeOutPhase(burst)
    const sizes = tones.map((tone) => (tone === 1 ? 1 : 0.5))
    expect(column(burst.residualRe, 20)).toEqual(near(sizes.map((a) => a * Math.cos(0.7))))
    expect(column(burst.residualIm, 20)).toEqual(near(sizes.map((a) => a * Math.sin(0.7))))
  })

  it('has the drift in it only while the tuning wanders', () => {
    const burst = burstOfTones({ tones: [1, 0, 1] })
    for (let k = 0; k < 3; k++) {
      burst.driftRe[k] = Math.cos(0.2 * (k + 1))
      burst.driftIm[k] = Math.sin(0.2 * (k + 1))
    }
    takeOutPhase(burst)
    expect(burst.phaseIm[1]).toBeCloseTo(0, 9)
    burst.isDrifting = true
    takeOutPhase(burst)
    const phases = [0, 0.2, 0.6 + spaceTurnRadians]
    expect(column(burst.phaseRe, 3)).toEqual(near(phases.map(Math.cos)))
    expect(column(burst.phaseIm, 3)).toEqual(near(phases.map(Math.sin)))
  })
})

/** One correction of the steps, from none. */
function stepsOf(burst: Burst, apart: boolean) {
  takeOutPhase(burst)
  fitSteps(burst, apart)
  const { markStep, spaceStep } = burst.parameters
  return { markStep, spaceStep }
}

describe('phase steps', () => {
  it('that both tones share are found at once, with no symbol more than there are', () => {
    const both = { markStep: 0.05, spaceStep: 0.05 }
    for (const tones of [mixedTones(20), mixedTones(9), new Array<number>(20).fill(1)])
      for (const apart of [false, true]) {
        const found = stepsOf(burstOfTones({ tones, ...both }), apart)
        expect(found.markStep).toBeCloseTo(0.05, 9)
        expect(found.spaceStep).toBeCloseTo(0.05, 9)
      }
  })

  it('are corrected by what is left of them', () => {
    const burst = burstOfTones({ tones: mixedTones(20), markStep: 0.05, spaceStep: 0.05 })
    Object.assign(burst.parameters, { markStep: 0.03, spaceStep: 0.03 })
    expect(stepsOf(burst, false).markStep).toBeCloseTo(0.05, 9)
  })

  it.each([0, 1, 5, 8])('of %i symbols say nothing', (count) => {
    const burst = burstOfTones({ tones: mixedTones(count), markStep: 0.05, spaceStep: 0.05 })
    expect(stepsOf(burst, false)).toEqual({ markStep: 0, spaceStep: 0 })
    expect(stepsOf(burst, true)).toEqual({ markStep: 0, spaceStep: 0 })
  })

  it('that differ are fitted together, or apart', () => {
    const signal = { tones: mixedTones(200), markStep: 0.06, spaceStep: 0.02 }
    // 100 marks of 200: the mean, but for what the ends leave out.
    const together = stepsOf(burstOfTones(signal), false)
    expect(together.markStep).toBeCloseTo(0.04, 2)
    expect(together.spaceStep).toBe(together.markStep)
    const burst = burstOfTones(signal)
    for (let round = 0; round < 60; round++) stepsOf(burst, true)
    expect(burst.parameters.markStep).toBeCloseTo(0.06, 4)
    expect(burst.parameters.spaceStep).toBeCloseTo(0.02, 4)
  })

  it('one step apart is the line through the angles, held back', () => {
    // Of 92 products 84 have eight marks in between and angle 0.48, eight have seven and 0.42.
    const tones = Array.from({ length: 100 }, (_, k) => (k === 8 ? 0 : 1))
    const { markStep, spaceStep } = stepsOf(burstOfTones({ tones, markStep: 0.06 }), true)
    // By hand: the ridge of 0.02 leaves of the slope of 0.48 a share of 0.00124 / 0.02124.
    const mean = (84 * 0.48 + 8 * 0.42) / 92
    const slope = (0.48 * 0.00124) / 0.02124
    const middle = (84 * 0.5 + 8 * 0.375) / 92
    expect(markStep).toBeCloseTo((mean + slope * (0.5 - middle)) / 8, 4)
    expect(spaceStep).toBeCloseTo((mean + slope * (-0.5 - middle)) / 8, 4)
  })
})

describe('the tilt of the space tone', () => {
  const tiltOf = (tones: readonly number[], tilt: number): number => {
    const burst = burstOfTones({ tones, tilt })
    takeOutPhase(burst)
    fitTilt(burst)
    return burst.parameters.tilt
  }

  it('is corrected by four fifths of what changes of tone show', () => {
    expect(tiltOf(mixedTones(20), 0.3)).toBeCloseTo(0.24, 6)
    expect(tiltOf(mixedTones(20), -0.4)).toBeCloseTo(-0.32, 6)
    expect(tiltOf([0, 0, 0, 1, 1, 1, 1, 0, 0], 0.3)).toBeCloseTo(0.24, 6)
  })

  it('is corrected by 0.4 at most', () => {
    expect(tiltOf(mixedTones(20), 0.8)).toBeCloseTo(0.4, 6)
    expect(tiltOf(mixedTones(20), -0.8)).toBeCloseTo(-0.4, 6)
  })

  it('shows by half where the tones change but once, and not where they do not', () => {
    expect(tiltOf([0, 0, 0, 1, 1], 0.3)).toBeCloseTo(0.12, 6)
    expect(tiltOf([1, 1, 1, 0, 0], 0.3)).toBeCloseTo(0.12, 6)
    expect(tiltOf([0, 0, 0, 0], 0.3)).toBe(0)
    expect(tiltOf([1, 1], 0.3)).toBe(0)
  })
})

describe('amplitudes and noise', () => {
  const fitted = (burst: Burst) => {
    fitAmplitudes(burst)
    const { markAmplitude, spaceAmplitude, variance } = burst.parameters
    return { markAmplitude, spaceAmplitude, variance }
  }
  /** Residuals as given, in the phase of the reference. */
  const residuals = (
    tones: readonly number[],
    along: readonly number[],
    across: readonly number[],
  ) => {
    const burst = burstOfTones({ tones })
    tones.forEach((_, k) => {
      burst.residualRe[k] = along[k]!
      burst.residualIm[k] = across[k]!
    })
    return burst
  }

  it('are the means along the reference, and the mean square across', () => {
    const burst = residuals([1, 1, 0, 0], [3, 5, 1, 3], [0.1, -0.1, 0.3, 0.3])
    // 4 and 2: their mean square is 10.
    expect(fitted(burst)).toEqual({
      markAmplitude: expect.closeTo(4, 6),
      spaceAmplitude: expect.closeTo(2, 6),
      variance: expect.closeTo(0.05 + 1e-3, 6),
    })
  })

  it('count symbols by their reliability', () => {
    const burst = residuals([1, 1, 0], [4, 8, 2], [0, 0.5, 0.5])
    burst.reliability.set([0.75, 0.25, 0.5])
    expect(fitted(burst)).toEqual({
      markAmplitude: expect.closeTo(5, 6),
      spaceAmplitude: expect.closeTo(2, 6),
      variance: expect.closeTo((0.75 * 0.25) / 1.5 + 1e-4 * 14.5, 6),
    })
  })

  it('follow the reference', () => {
    const burst = residuals([1, 0], [1, 0], [0, 2])
    burst.referenceRe.set([Math.cos(0.5), 0])
    burst.referenceIm.set([Math.sin(0.5), 1])
    const { markAmplitude, spaceAmplitude } = fitted(burst)
    expect(markAmplitude).toBeCloseTo(Math.cos(0.5), 6)
    expect(spaceAmplitude).toBeCloseTo(2, 6)
  })

  it.each([
    ['one that is not there', [1, 1], [1, 3]],
    ['one that lies the other way', [1, 0], [2, -1]],
  ])('take no tone for weaker than a fifth of the mean: %s', (_what, tones, along) => {
    const { markAmplitude, spaceAmplitude } = fitted(residuals(tones, along, [0, 0]))
    expect(markAmplitude).toBeCloseTo(2, 6)
    expect(spaceAmplitude).toBeCloseTo(0.2 * Math.SQRT2, 6)
    const other = residuals(
      tones.map((tone) => 1 - tone),
      along,
      [0, 0],
    )
    expect(fitted(other).markAmplitude).toBeCloseTo(0.2 * Math.SQRT2, 6)
  })
})
