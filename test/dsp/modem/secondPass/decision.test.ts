// The trellis and its list against trying every sequence.
import { describe, expect, it } from 'vitest'
import { gaussian } from '../../../../dsp/channel/gaussian.js'
import {
  coherentDecision,
  createDecisionRecord,
  type Path,
  runTrellis,
  tracePath,
  visitPaths,
} from '../../../../dsp/modem/secondPass/decision.js'
import { type Burst, createBurst, takeOutPhase } from '../../../../dsp/modem/secondPass/model.js'
import { spaceTurn } from '../../../../dsp/modem/sequence/phaseStep.js'
import { seededRandom } from '../../../../src/runtime/random.js'

const count = 10

/** A burst that sends `sent`, in noise, with another sequence taken for decided. */
function noisyBurst(sent: readonly number[], decided: readonly number[], seed: number): Burst {
  const burst = createBurst()
  const noise = gaussian(seededRandom(seed))
  burst.count = count
  Object.assign(burst.parameters, { markAmplitude: 1.2, spaceAmplitude: 0.8, variance: 0.2 })
  let phase = 0
  for (let k = 0; k < count; k++) {
    const mark = sent[k] === 1
    const spread = (): number => Math.sqrt(0.2) * noise()
    burst.run.markRe[k] = spread() + (mark ? 1.2 * Math.cos(phase) : 0)
    burst.run.markIm[k] = spread() + (mark ? 1.2 * Math.sin(phase) : 0)
    burst.run.spaceRe[k] = spread() + (mark ? 0 : 0.8 * Math.cos(phase))
    burst.run.spaceIm[k] = spread() + (mark ? 0 : 0.8 * Math.sin(phase))
    if (!mark) phase += spaceTurn
    burst.tones[k] = decided[k]!
    burst.reliability[k] = k === 4 ? 0.5 : 1
    burst.referenceRe[k] = 1
    burst.referenceIm[k] = 0
  }
  takeOutPhase(burst)
  return burst
}

/** Log-likelihood of a sequence by its definition, from each of the start phases that the trellis allows. */
function likelihood(burst: Burst, tones: readonly number[]): number {
  let best = Number.NEGATIVE_INFINITY
  for (let start = -3; start <= 3; start++) {
    let sum = 0
    let spaces = start
    let inReach = true
    let phase = spaceTurn * start
    for (let k = 0; k < count; k++) {
      const mark = tones[k] === 1
      const a = mark ? 1.2 : 0.8
      const re = mark ? burst.run.markRe[k]! : burst.run.spaceRe[k]!
      const im = mark ? burst.run.markIm[k]! : burst.run.spaceIm[k]!
      const along = re * Math.cos(phase) + im * Math.sin(phase)
      sum += (burst.reliability[k]! * (a * along - (a * a) / 2)) / 0.2
      if (!mark) phase += spaceTurn
      spaces += (mark ? 0 : 1) - (1 - burst.tones[k]!)
      inReach &&= Math.abs(spaces) <= 3
    }
    if (inReach) best = Math.max(best, sum)
  }
  return best
}

const allSequences = Array.from({ length: 2 ** count }, (_, bits) =>
  Array.from({ length: count }, (_, k) => (bits >> k) & 1),
)
const sent = [1, 0, 0, 1, 1, 1, 0, 1, 0, 0]
const decided = [1, 0, 1, 0, 1, 1, 0, 1, 0, 0]

describe('coherent decision', () => {
  it.each([1, 2, 3, 4, 5, 6])('finds the most likely of all sequences, seed %i', (seed) => {
    const burst = noisyBurst(sent, decided, seed)
    const best = Math.max(...allSequences.map((tones) => likelihood(burst, tones)))
    const record = createDecisionRecord()
    runTrellis(burst, record)
    const path = new Uint8Array(count)
    tracePath(burst, record, [], path)
    expect(likelihood(burst, [...path])).toBeCloseTo(best, 9)
    const changed = decided.filter((tone, k) => tone !== path[k]).length
    expect(coherentDecision(burst, record)).toBe(changed)
    expect([...burst.tones.subarray(0, count)]).toEqual([...path])
    expect(coherentDecision(burst, record)).toBe(0)
  })

  it('lists the runners-up in order, with their exact cost, each once', () => {
    const burst = noisyBurst(sent, decided, 7)
    const record = createDecisionRecord()
    runTrellis(burst, record)
    const paths: Path[] = []
    const sequences = new Set<string>()
    const limits = { from: 0, to: count, pathsMax: 20, costMax: 100 }
    const best = Math.max(...allSequences.map((tones) => likelihood(burst, tones)))
    visitPaths(burst, record, limits, (path) => {
      const tones = new Uint8Array(count)
      tracePath(burst, record, path.departures, tones)
      // The same tones may be reached from another start phase, which costs more.
      if (!sequences.has(tones.join('')))
        expect(path.cost).toBeCloseTo(best - likelihood(burst, [...tones]), 6)
      sequences.add(tones.join(''))
      paths.push(path)
      return true
    })
    expect(paths).toHaveLength(20)
    expect(paths.map((path) => path.cost)).toEqual(
      paths.map((path) => path.cost).toSorted((a, b) => a - b),
    )
    expect(new Set(paths.map((path) => path.departures.join())).size).toBe(20)
  })

  it('keeps to its limits', () => {
    const burst = noisyBurst(sent, decided, 8)
    const record = createDecisionRecord()
    runTrellis(burst, record)
    const paths: Path[] = []
    visitPaths(burst, record, { from: 3, to: 6, pathsMax: 50, costMax: 9 }, (path) => {
      paths.push(path)
      return true
    })
    expect(paths.length).toBeGreaterThan(1)
    for (const { cost, departures } of paths) {
      expect(cost).toBeLessThanOrEqual(9)
      for (const at of departures) expect(at >= 3 && at < 6).toBe(true)
    }
  })
})
