// Signals that come twice, and what is decided on along both.
import { expect, it } from 'vitest'
import { modulateLevels } from '../../../../dsp/modem/modulator.js'
import {
  createDecisionRecord,
  tonesStates,
  tracePath,
  visitPaths,
} from '../../../../dsp/modem/secondPass/decision.js'
import { decideAlongEcho } from '../../../../dsp/modem/secondPass/echo.js'
import { fitBurst } from '../../../../dsp/modem/secondPass/fit.js'
import { createBurst } from '../../../../dsp/modem/secondPass/model.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { addNoise } from '../../../channel/addNoise.js'
import { heardSymbols } from '../heardSymbols.js'
import { mixedTones } from './burstOfTones.js'

const count = 300

interface Path {
  readonly delay?: number
  readonly gain?: number
  readonly rms?: number
  readonly seed?: number
}

/** A fitted burst of mixed tones that come again after some samples. */
function echoed({ delay = 10, gain = 0, rms = 0.05, seed = 1 }: Path) {
  const sent = Uint8Array.from(mixedTones(count + 4))
  const clean = modulateLevels(sent, { sampleRateHz: 12_000, peakLevel: 0.3 })
  const both = clean.map((sample, n) => sample + gain * (clean[n - delay] ?? 0))
  const { correlations, run, mask } = heardSymbols(addNoise(both, rms, seededRandom(seed)))
  const tones = new Uint8Array(mask + 1)
  tones.set(sent)
  const burst = createBurst()
  fitBurst(burst, createDecisionRecord(), correlations, {
    ...{ run, mask, tones, firstSymbol: 0, symbolCount: count, startsWithSignal: false },
    ...{ markStep: 0, spaceStep: 0 },
  })
  // What stands behind the last symbol is no number, and nobody's.
  const columns = [burst.run.markRe, burst.run.markIm, burst.run.spaceRe, burst.run.spaceIm]
  columns.push(burst.phaseRe, burst.phaseIm, burst.referenceRe, burst.referenceIm)
  for (const column of [...columns, burst.reliability]) column.fill(Number.NaN, count)
  return burst
}

/** Of the tones in the middle, how many are not as sent. */
const wrongIn = (tones: Uint8Array): number =>
  mixedTones(count).filter((tone, k) => k > 2 && k < count - 3 && tone !== tones[k]).length

it.each([
  [10, 0.6],
  [13, 0.6],
  [8, 0.6],
])('an echo of %i samples, %f as strong: the tones are decided along it', (delay, gain) => {
  const burst = echoed({ delay, gain, rms: 0.1 })
  // Where the tones are not those sent already, the echo has to bring them.
  for (const k of [48, 101, 168, 221]) burst.tones[k]! ^= 1
  const record = createDecisionRecord(tonesStates)
  expect(decideAlongEcho(burst, () => record)).toBe(record)
  expect(record.states).toBe(tonesStates)
  const decided = new Uint8Array(count)
  tracePath(burst, record, [], decided)
  expect(wrongIn(decided)).toBe(0)
  expect(wrongIn(burst.tones)).toBe(0)
})

it('other paths along it differ in a few tones each, the likelier ones first', () => {
  const burst = echoed({ gain: 0.7 })
  const record = decideAlongEcho(burst, () => createDecisionRecord(tonesStates))!
  const costs: number[] = []
  const seen = new Set<string>()
  const limits = { from: 20, to: count - 20, pathsMax: 40, costMax: 1e6 }
  visitPaths(burst, record, limits, ({ cost, departures }) => {
    const tones = new Uint8Array(count)
    tracePath(burst, record, departures, tones)
    costs.push(cost)
    seen.add(tones.join(''))
    expect(wrongIn(tones)).toBeLessThan(40)
    return true
  })
  expect(costs).toHaveLength(40)
  expect(seen.size).toBe(40)
  expect(costs).toEqual(costs.toSorted((a, b) => a - b))
})

it.each([
  ['no echo', { gain: 0 }],
  ['a faint one in noise', { gain: 0.05, rms: 0.15 }],
])('of %s no record is asked for', (_what, path) => {
  const burst = echoed(path)
  const before = burst.tones.slice()
  expect(
    decideAlongEcho(burst, () => {
      throw new Error('asked for')
    }),
  ).toBeUndefined()
  expect(burst.tones).toEqual(before)
})
