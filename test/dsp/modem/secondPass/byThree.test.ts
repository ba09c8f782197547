// Deciding by three symbols, against trying all eight sequences with complex numbers.
import { expect, it } from 'vitest'
import { gaussian } from '../../../../dsp/channel/gaussian.js'
import { decideByThree, turnsOf } from '../../../../dsp/modem/secondPass/byThree.js'
import { createSymbolRun, type SymbolRun } from '../../../../dsp/modem/sequence/toneCorrelations.js'
import { seededRandom } from '../../../../src/runtime/random.js'

const count = 40
const steps = { markStep: 0.1, spaceStep: -0.2 }
/** Radians a symbol: 1200 Hz turns once in 1/1200 s, 2200 Hz 11/6 times. */
const turnOf = (tone: number): number =>
  tone === 1 ? steps.markStep : (2 * Math.PI * 11) / 6 + steps.spaceStep

function noise(seed: number): SymbolRun {
  const run = createSymbolRun(count)
  const draw = gaussian(seededRandom(seed))
  for (const column of [run.markRe, run.markIm, run.spaceRe, run.spaceIm])
    for (let k = 0; k < count; k++) column[k] = draw()
  return run
}

/** Power along three tones about k: each correlation turned back by the tones before it. */
function powerAlong(run: SymbolRun, k: number, tones: readonly number[]): number {
  let [re, im, phase] = [0, 0, 0]
  tones.forEach((tone, at) => {
    const x = (tone === 1 ? run.markRe : run.spaceRe)[k - 1 + at]!
    const y = (tone === 1 ? run.markIm : run.spaceIm)[k - 1 + at]!
    re += x * Math.cos(phase) + y * Math.sin(phase)
    im += y * Math.cos(phase) - x * Math.sin(phase)
    phase += turnOf(tone)
  })
  return re ** 2 + im ** 2
}

const largest = (run: SymbolRun, k: number, middle: number): number =>
  Math.max(
    ...[0, 1].flatMap((first) => [0, 1].map((third) => powerAlong(run, k, [first, middle, third]))),
  )

const powerOf = (run: SymbolRun, k: number): number =>
  run.markRe[k]! ** 2 + run.markIm[k]! ** 2 + run.spaceRe[k]! ** 2 + run.spaceIm[k]! ** 2

it.each([1, 2, 3])('takes the tone of the strongest of eight sequences, seed %i', (seed) => {
  const run = noise(seed)
  const decided = {
    ...{ tones: new Uint8Array(count).fill(7), shares: new Float64Array(count).fill(-1) },
    leads: new Float32Array(count).fill(-7),
  }
  decideByThree(run, count, turnsOf(steps), decided)
  for (let k = 1; k < count - 1; k++) {
    const [space, mark] = [largest(run, k, 0), largest(run, k, 1)]
    const all = 3 * (powerOf(run, k - 1) + powerOf(run, k) + powerOf(run, k + 1))
    expect(decided.tones[k]).toBe(mark > space ? 1 : 0)
    expect(decided.shares[k]).toBeCloseTo(Math.max(mark, space) / all, 9)
    expect(decided.leads[k]).toBeCloseTo((Math.sqrt(mark) - Math.sqrt(space)) / Math.sqrt(all), 6)
  }
  // The ends have one neighbour only, and take its tone.
  expect(decided.tones[0]).toBe(decided.tones[1])
  expect(decided.tones[count - 1]).toBe(decided.tones[count - 2])
  expect([decided.shares[0], decided.shares[count - 1]]).toEqual([-1, -1])
})

it('of a clean signal nine tenths lie along it; leads may be left out', () => {
  const run = createSymbolRun(count)
  const sent = Array.from({ length: count }, (_, k) => ((k * k) % 3) & 1)
  let phase = 0.7
  for (let k = 0; k < count; k++) {
    const [re, im] = sent[k] === 1 ? [run.markRe, run.markIm] : [run.spaceRe, run.spaceIm]
    re[k] = 2 * Math.cos(phase)
    im[k] = 2 * Math.sin(phase)
    phase += turnOf(sent[k]!)
  }
  const decided = { tones: new Uint8Array(count), shares: new Float64Array(count) }
  decideByThree(run, count, turnsOf(steps), decided)
  expect([...decided.tones.subarray(1, -1)]).toEqual(sent.slice(1, -1))
  for (const share of decided.shares.subarray(1, -1)) expect(share).toBeCloseTo(1, 6)
})

it('silence is space, along which nothing lies', () => {
  const decided = { tones: new Uint8Array(5).fill(1), shares: new Float64Array(5).fill(1) }
  decideByThree(createSymbolRun(5), 5, turnsOf(steps), decided)
  expect([...decided.tones]).toEqual([0, 0, 0, 0, 0])
  expect([...decided.shares]).toEqual([1, 0, 0, 0, 1])
})
