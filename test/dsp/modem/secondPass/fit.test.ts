// The fit of a whole segment: lines through positions, trust in symbols, and signals whose guess is wrong in one way each.
import { describe, expect, it } from 'vitest'
import { modulateLevels } from '../../../../dsp/modem/modulator.js'
import { createDecisionRecord } from '../../../../dsp/modem/secondPass/decision.js'
import {
  fitBurst,
  refitPhase,
  setReliabilities,
  straightTiming,
} from '../../../../dsp/modem/secondPass/fit.js'
import { type Burst, createBurst, takeOutPhase } from '../../../../dsp/modem/secondPass/model.js'
import { createSymbolRun } from '../../../../dsp/modem/sequence/toneCorrelations.js'
import { heardSymbols } from '../heardSymbols.js'
import { burstOfTones, mixedTones } from './burstOfTones.js'

describe('the line through positions', () => {
  const lineOf = (positions: readonly number[]) => {
    const mask = 1023
    const firstSymbol = 1024 + 1000
    const run = createSymbolRun(mask + 1)
    run.startSample.fill(Number.NaN)
    positions.forEach((position, k) => {
      run.startSample[(firstSymbol + k) & mask] = position
    })
    return straightTiming({ run, mask, firstSymbol, symbolCount: positions.length })
  }
  const even = (count: number, length = 10.002): number[] =>
    Array.from({ length: count }, (_, k) => 700.25 + length * k)

  it.each([10.002, 9.9, 10.3])('of symbols %f samples long is that', (length) => {
    const { start, length: found } = lineOf(even(200, length))
    expect(start).toBeCloseTo(700.25, 6)
    expect(found).toBeCloseTo(length, 8)
  })

  it('a few far from it do not count', () => {
    const positions = even(200).map((position, k) => position + (k % 40 === 7 ? 30 : 0))
    const { start, length } = lineOf(positions)
    expect(start).toBeCloseTo(700.25, 1)
    expect(length).toBeCloseTo(10.002, 3)
  })

  it('goes with the larger part, although the smaller one comes first', () => {
    const positions = even(200).map((position, k) => position - (k < 40 ? 3 : 0))
    const { start, length } = lineOf(positions)
    expect(start).toBeCloseTo(700.25, 0)
    expect(length).toBeCloseTo(10.002, 2)
  })
})

describe('trust in a symbol', () => {
  const variance = 0.1
  const trusted = (change: (burst: Burst) => void, tilt = 0): number[] => {
    const burst = burstOfTones({ tones: [1, 1, 1, 0, 1, 0, 1, 1], tilt })
    takeOutPhase(burst)
    Object.assign(burst.parameters, { variance, tilt })
    change(burst)
    setReliabilities(burst)
    expect(burst.reliability[8]).toBeNaN()
    return [...burst.reliability.subarray(0, 8)]
  }
  /** Three times the mark tone is two off, so that 4 is left; half of that is its own, a quarter its neighbour's. */
  const threefold = (k: number) => (burst: Burst) => {
    burst.run.markRe[k]! *= 3
    burst.run.markIm[k]! *= 3
  }
  const trustOf = (excess: number): number => variance / (variance + (excess - 6 * variance) / 3)
  const near = (values: readonly number[]) => values.map((value) => expect.closeTo(value, 9))

  it.each([0, 0.4])('is full where all is as the model has it, tilt %f', (tilt) => {
    expect(trusted(() => undefined, tilt)).toEqual(new Array(8).fill(1))
  })

  it('is less where it lies far from all points, and beside it', () => {
    const expected = [1, trustOf(1), trustOf(2), trustOf(1), 1, 1, 1, 1]
    expect(trusted(threefold(2))).toEqual(near(expected))
  })

  it('at the ends, where the neighbour is missing, the symbol stands for it', () => {
    const first = [trustOf(3), trustOf(1), 1, 1, 1, 1, 1, 1]
    expect(trusted(threefold(0))).toEqual(near(first))
    expect(trusted(threefold(7))).toEqual(near(first.toReversed()))
  })

  it('both tones at once are noise, beyond the 0.04 that leaks', () => {
    const both = (power: number) => (burst: Burst) => {
      burst.run.spaceRe[1] = Math.sqrt(power)
    }
    expect(trusted(both(0.04))).toEqual(new Array(8).fill(1))
    // As mark 4 - 0.04 are left; as space, twice as strong as it should be, 1 and 1 - 0.04.
    const [, trust] = trusted(both(4))
    expect(trust).toBeCloseTo(trustOf(1.96 / 2), 9)
  })
})

it('the tilt is fitted with the steps apart, and only then', () => {
  const burst = burstOfTones({ tones: mixedTones(200), tilt: 0.3 })
  refitPhase(burst, false)
  expect(burst.parameters.tilt).toBe(0)
  refitPhase(burst, true)
  expect(burst.parameters.tilt).toBeGreaterThan(0.2)
})

/** A signal, and what the first pass makes of it. */
function fitted(
  count: number,
  {
    wrong = [] as readonly number[],
    startOf = (k: number): number => 10 * k,
    burst = createBurst(),
    steps = { markStep: 0, spaceStep: 0 },
    toneOffsetHz = 0,
    toneSpacingErrorHz = 0,
    silent = [0, 0] as readonly [number, number],
  } = {},
) {
  const sent = Uint8Array.from(mixedTones(count + 4))
  const audio = modulateLevels(sent, {
    ...{ sampleRateHz: 12_000, peakLevel: 0.3, toneOffsetHz, toneSpacingErrorHz },
  }).fill(0, ...silent)
  const { correlations, run, mask } = heardSymbols(audio, startOf)
  const tones = new Uint8Array(mask + 1)
  tones.set(sent)
  for (const k of wrong) [tones[k], tones[k + 1]] = [tones[k + 1]!, tones[k]!]
  const isSignal = fitBurst(burst, createDecisionRecord(), correlations, {
    ...{ run, mask, tones, firstSymbol: 0, symbolCount: count, startsWithSignal: false },
    ...steps,
  })
  const decided = [...burst.tones.subarray(0, count)]
  return { isSignal, burst, isRight: decided.join('') === sent.subarray(0, count).join('') }
}

/** Where mixedTones change, far from each other. */
const changesOfTone = [8, 21, 33, 48, 61, 73, 88]

describe('a segment', () => {
  it('of a signal is fitted: amplitudes, steps and where its symbols begin', () => {
    const { isSignal, isRight, burst } = fitted(200, { toneOffsetHz: 30 })
    expect([isSignal, isRight]).toEqual([true, true])
    // Of a tone of amplitude 0.3 ten samples give 1.5; 30 Hz turn the phase by 9 degrees a symbol.
    expect(burst.parameters.markAmplitude).toBeCloseTo(1.5, 1)
    expect(burst.parameters.spaceAmplitude).toBeCloseTo(1.5, 1)
    expect(burst.parameters.markStep).toBeCloseTo(Math.PI / 20, 1)
    expect(burst.parameters.spaceStep).toBeCloseTo(Math.PI / 20, 1)
  })

  // 8 of 100 tones may change in the first round.
  it.each([
    [100, 4, true],
    [99, 4, false],
    [100, 5, false],
  ])(
    'of %i symbols may have %i pairs of tones the wrong way round: %s',
    (count, pairs, isSignal) => {
      const found = fitted(count, { wrong: changesOfTone.slice(0, pairs) })
      expect(found.isSignal).toBe(isSignal)
      expect(found.isRight).toBe(true)
    },
  )

  it.each([-1, 1])('is moved to where its tones fit, from %i sample beside it', (off) => {
    const { isRight, burst } = fitted(200, { startOf: (k) => Math.max(0, 10 * k + off) })
    expect(isRight).toBe(true)
    // A symbol begins between the samples of two.
    expect(Math.abs(burst.run.startSample[100]! - 1000.5)).toBeLessThan(0.2)
    expect(Math.abs(burst.run.startSample[190]! - 1900.5)).toBeLessThan(0.2)
  })

  it('has its symbol rate corrected', () => {
    const { burst } = fitted(200, { startOf: (k) => 10.006 * k })
    expect(burst.run.startSample[199]! - burst.run.startSample[0]!).toBeCloseTo(1990, 0)
  })

  it('has its symbol rate corrected by 0.01 samples a symbol, twice', () => {
    const { burst } = fitted(100, { startOf: (k) => Math.max(0, 10.03 * k - 1.5) })
    const length = burst.run.startSample[99]! - burst.run.startSample[0]!
    expect(Math.abs(length / 99 - 10.01)).toBeLessThan(0.003)
  })

  it('of one block of 32 symbols is moved too', () => {
    const { burst } = fitted(32, { startOf: (k) => 10 * k + 2 })
    expect(Math.abs(burst.run.startSample[20]! - 200.5)).toBeLessThan(1.2)
  })

  it('that is silent for a while keeps its timing there', () => {
    const { isSignal, burst } = fitted(900, { silent: [3000, 3600] })
    expect(isSignal).toBe(true)
    for (const k of [0, 330, 899])
      expect(Math.abs(burst.run.startSample[k]! - 10 * k - 0.5)).toBeLessThan(0.3)
  })

  it('leaves alone what stands behind its last symbol', () => {
    const burst = createBurst()
    burst.run.startSample.fill(-1)
    fitted(100, { burst })
    expect(burst.run.startSample[99]).toBeCloseTo(990, -0.5)
    expect(burst.run.startSample[100]).toBe(-1)
  })

  // 172 Hz between the tones turn space by 52 degrees more, 0.9 radians: too much to be found by way of their mean alone.
  it('whose tones lie further apart has them fitted apart at once, if the first pass saw more than 0.08 of it', () => {
    const seen = (spaceStep: number) =>
      fitted(200, { steps: { markStep: 0, spaceStep }, toneSpacingErrorHz: 172 })
    expect(seen(0).isSignal).toBe(false)
    expect(seen(0.08).burst.parameters.spaceStep).toBeLessThan(0.71)
    expect(seen(0.081).burst.parameters.spaceStep).toBeGreaterThan(0.73)
    expect(seen(0.1).isSignal).toBe(true)
  })

  it('too short for blocks of 32 symbols keeps its timing', () => {
    const { isSignal, isRight, burst } = fitted(30)
    expect([isSignal, isRight]).toEqual([true, true])
    expect(burst.run.startSample[29]).toBeCloseTo(290, 6)
  })

  it('knows nothing of a drift that the one before it had', () => {
    const burst = createBurst()
    burst.isDrifting = true
    burst.driftRe.fill(Number.NaN)
    burst.driftIm.fill(Number.NaN)
    expect(fitted(100, { burst })).toMatchObject({ isSignal: true, isRight: true })
    expect(burst.isDrifting).toBe(false)
  })

  it('may have 3500 symbols', () => {
    expect(fitted(3500).isSignal).toBe(true)
    expect(() => fitted(3501)).toThrow(new RangeError('burst: got 3501 symbols'))
  })
})
