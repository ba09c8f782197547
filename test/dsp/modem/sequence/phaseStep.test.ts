// Phase steps and amplitudes of symbols that are written by the model's own words: what is estimated is known.
import { describe, expect, it } from 'vitest'
import {
  type BlockEstimate,
  createPhaseStepEstimator,
} from '../../../../dsp/modem/sequence/phaseStep.js'
import { symbolCapacity, symbolMask } from '../../../../dsp/modem/sequence/symbols.js'
import { createSymbolRun } from '../../../../dsp/modem/sequence/toneCorrelations.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { spaceTurnRadians } from '../burstByHand.js'

interface Signal {
  readonly count: number
  readonly markStep?: number
  readonly spaceStep?: number
  readonly markAmplitude?: number
  readonly spaceAmplitude?: number
  /** where there is a signal, all else is silence */
  readonly isSignal?: (k: number) => boolean
  readonly toneOf?: (k: number) => number
  /** what is added to the phase of symbol k, and to no other */
  readonly wobbleOf?: (k: number) => number
  readonly lineQualityOf?: (k: number) => number
  readonly spreadBy?: number
  readonly gain?: number
}

const random = seededRandom(6)
const randomTones = Array.from({ length: 2000 }, () => (random() < 0.5 ? 1 : 0))

function estimator({
  count,
  markStep = 0,
  spaceStep = 0,
  markAmplitude = 1,
  spaceAmplitude = 1,
  isSignal = () => true,
  toneOf = (k) => randomTones[k]!,
  wobbleOf = () => 0,
  lineQualityOf = () => 1,
  spreadBy = 0,
  gain = 1,
}: Signal) {
  const run = createSymbolRun(symbolCapacity)
  const lineQuality = new Float32Array(symbolCapacity)
  let [phase, known] = [0.3, 0]
  const symbols = { run, lineQuality, count: 0, advance: () => undefined }
  const steps = createPhaseStepEstimator(symbols, spreadBy)
  const found: BlockEstimate[] = []
  const read = (): void => {
    steps.advance()
    while (found.length < steps.blocks) {
      const into = { markStep: 0, spaceStep: 0, markAmplitude: 0, spaceAmplitude: 0 }
      const estimate = { ...into, coherence: 0, presence: 0 }
      steps.estimate(found.length, estimate)
      found.push(estimate)
    }
  }
  // As they come: the ring is written anew while it is read.
  for (let end = Math.min(count, 320); known < count; end = Math.min(count, end + 32)) {
    for (; known < end; known++) {
      const at = known & symbolMask
      const isMark = toneOf(known) === 1
      const size = isSignal(known) ? gain * (isMark ? markAmplitude : spaceAmplitude) : 0
      const own = phase + wobbleOf(known)
      run.markRe[at] = isMark ? size * Math.cos(own) : 0
      run.markIm[at] = isMark ? size * Math.sin(own) : 0
      run.spaceRe[at] = isMark ? 0 : size * Math.cos(own)
      run.spaceIm[at] = isMark ? 0 : size * Math.sin(own)
      lineQuality[at] = lineQualityOf(known)
      phase += isMark ? markStep : spaceTurnRadians + spaceStep
    }
    symbols.count = known
    read()
  }
  return { steps, found }
}

/** What is known of a signal's tenth block. */
const settled = (signal: Omit<Signal, 'count'>): BlockEstimate =>
  estimator({ count: 700, ...signal }).found[9]!

describe('a steady signal', () => {
  it.each([
    [324, 0],
    [325, 1],
    [356, 1],
    [357, 2],
  ])('of %i symbols has %i blocks that are known', (count, blocks) => {
    expect(estimator({ count }).steps.blocks).toBe(blocks)
  })

  it('is wholly coherent, in every block, a round of the rings of blocks later too', () => {
    const { found } = estimator({ count: 1400, markStep: 0.1, spaceStep: 0.1, gain: 0.01 })
    expect(found).toHaveLength(34)
    for (const [block, estimate] of found.entries()) {
      // The first symbol has none before it.
      expect(estimate.coherence).toBeCloseTo(1, block === 0 ? 2 : 1)
      expect(estimate.presence).toBeGreaterThan(block === 0 ? 0.95 : 0.99)
      expect(estimate.markStep).toBeCloseTo(0.1, 6)
      expect(estimate.spaceStep).toBeCloseTo(0.1, 6)
      expect(estimate.markAmplitude).toBeCloseTo(0.01, 4)
      expect(estimate.spaceAmplitude).toBeCloseTo(0.01, 4)
    }
  })

  it('has at its first symbols the power of those that there are', () => {
    const [first] = estimator({ count: 400, toneOf: () => 0 }).found
    // Over 5, 6, 7, 8 and then 9 symbols in place of nine; the first symbol has none before it.
    const sum = 18 / 11 + 18 / 13 + 18 / 15 + 18 / 17 + 27
    expect(first!.presence).toBeCloseTo(sum / 32, 6)
    expect(first!.spaceAmplitude).toBeCloseTo(1, 4)
  })

  it('may turn by a third of a turn in each symbol', () => {
    const tenth = settled({ markStep: 2, spaceStep: 2, toneOf: () => 1 })
    expect(tenth.coherence).toBeCloseTo(1, 6)
    expect(tenth.markStep).toBeCloseTo(2, 6)
  })

  it('with no two spaces in a row has both steps all the same', () => {
    const tenth = settled({ markStep: 0.1, spaceStep: 0.3, toneOf: (k) => (k % 3 === 2 ? 0 : 1) })
    expect(Math.abs(tenth.markStep - 0.1)).toBeLessThan(0.02)
    expect(Math.abs(tenth.spaceStep - 0.3)).toBeLessThan(0.02)
  })

  it('right before another one keeps its own steps', () => {
    // Two senders: one in eight blocks, the next one in the eight behind them.
    const turnOf = (k: number) => (k < 512 ? 0.2 * k : 0.5 * k)
    const isSignal = (k: number) => k >= 256 && k < 768
    const { found } = estimator({ count: 1100, toneOf: () => 1, wobbleOf: turnOf, isSignal })
    for (const block of [8, 11, 15]) expect(found[block]!.markStep).toBeCloseTo(0.2, 2)
    for (const block of [16, 20, 23]) expect(found[block]!.markStep).toBeCloseTo(0.5, 2)
  })

  it.each([
    [0, 0.1],
    [-0.15, 0.15],
    [0.4, 0.2],
  ])('steps of %f and %f are told apart', (markStep, spaceStep) => {
    const tenth = settled({ markStep, spaceStep })
    // What may be chance is held back: of a difference of 0.1 an eighth.
    expect(Math.abs(tenth.markStep - markStep)).toBeLessThan(0.01)
    expect(Math.abs(tenth.spaceStep - spaceStep)).toBeLessThan(0.01)
  })

  it('a difference that may be chance is none', () => {
    const tenth = settled({ markStep: 0.19, spaceStep: 0.2 })
    expect(tenth.markStep).toBe(tenth.spaceStep)
    expect(tenth.markStep).toBeCloseTo(0.195, 2)
  })

  it.each([0, 1])('of one tone alone, %i, has one step', (tone) => {
    const tenth = settled({
      markStep: 0.2,
      spaceStep: 0.2,
      toneOf: () => tone,
    })
    expect(tenth.markStep).toBeCloseTo(0.2, 6)
    expect(tenth.spaceStep).toBeCloseTo(0.2, 6)
    expect(tenth.coherence).toBeCloseTo(1, 6)
  })

  it('whose space tone is expected 200 Hz higher is found there', () => {
    const spaceStep = Math.PI / 3 + 0.1
    const tenth = settled({ markStep: 0.1, spaceStep, spreadBy: 1 })
    expect(tenth.markStep).toBeCloseTo(0.1, 2)
    expect(tenth.spaceStep).toBeCloseTo(spaceStep, 2)
    expect(tenth.coherence).toBeCloseTo(1, 6)
  })
})

describe('amplitudes', () => {
  const ratioOf = (spaceDb: number): number => {
    const spaceAmplitude = 10 ** (spaceDb / 20)
    const tenth = settled({ spaceAmplitude })
    return 20 * Math.log10(tenth.spaceAmplitude / tenth.markAmplitude)
  }

  it.each([
    [2.4, 0],
    [-2.4, 0],
    [6, 3.5],
    [-6, -3.5],
    [-16, -13.5],
    [16, 13.5],
    [-20, -14],
    [20, 14],
  ])('of which space is %f dB stronger are %f apart: 2.5 are left alone', (truth, estimated) => {
    expect(ratioOf(truth)).toBeCloseTo(estimated, 1)
  })

  it('of one tone alone are that of both', () => {
    const tenth = settled({ toneOf: () => 1, markAmplitude: 0.7 })
    expect(tenth.markAmplitude).toBeCloseTo(0.7, 6)
    expect(tenth.spaceAmplitude).toBeCloseTo(0.7, 6)
  })
})

it('changes of tone that turn the phase back say nothing of amplitudes', () => {
  // In runs of eight marks and eight spaces, half a turn apart.
  const toneOf = (k: number) => Math.floor(k / 8) % 2
  const tenth = settled({ toneOf, wobbleOf: (k) => Math.PI * toneOf(k) })
  expect(tenth.markAmplitude).toBeCloseTo(1, 1)
  expect(tenth.spaceAmplitude).toBeCloseTo(1, 1)
})

describe('a signal that begins and ends', () => {
  const { found } = estimator({ count: 1000, isSignal: (k) => k >= 320 && k < 640, markStep: 0.2 })

  it('is present in its own blocks', () => {
    found.forEach(({ presence }, block) => {
      const isIn = block >= 10 && block < 20
      if (isIn) expect(presence).toBeGreaterThan(0.9)
      else expect(Math.abs(presence)).toBeLessThan(0.1)
    })
  })

  it('gives its steps to all windows of eight blocks that have to do with it', () => {
    const coherences = found.map(({ coherence }) => coherence)
    // Of a block before it seven of eight, of the next one before six.
    expect(coherences[12]).toBeGreaterThan(0.98)
    expect(coherences[9]).toBeCloseTo(7 / 8, 1)
    expect(coherences[8]).toBeCloseTo(6 / 8, 1)
    expect(coherences[3]).toBeCloseTo(1 / 8, 1)
    expect(coherences[2]).toBeLessThan(0.02)
    expect(coherences[19]).toBeGreaterThan(0.98)
    expect(coherences[20]).toBeCloseTo(7 / 8, 1)
    expect(found[4]!.markStep).toBeGreaterThan(0.15)
  })
})

describe('what has no line at the symbol rate is not looked at', () => {
  const coherencesWith = (lineQualityOf: (k: number) => number) =>
    estimator({ count: 400, lineQualityOf }).found.map(({ coherence }) => coherence)

  it.each([
    [0.0599, 0],
    [0.0601, 1],
  ])('a quality of %f', (quality, coherence) => {
    const [first, tenth] = coherencesWith(() => quality)
    expect(first).toBeCloseTo(coherence, 2)
    expect(tenth).toBeCloseTo(coherence, 2)
  })

  // Block b is looked at when there is a line from block b - 1 to block b + 1: seen in every eighth symbol.
  it.each([
    [160, 3],
    [184, 3],
    [161, 0],
  ])('one line at symbol %i is enough for %i blocks', (symbol, blocks) => {
    const [, tenth] = coherencesWith((k) => (k === symbol ? 1 : 0))
    expect(tenth).toBeCloseTo(blocks / 8, 1)
  })

  it('the same at the beginning', () => {
    expect(coherencesWith((k) => (k === 0 ? 1 : 0))[0]).toBeCloseTo(2 / 8, 1)
  })
})

it('changes of tone whose phases say nothing do not spoil the steps of the others', () => {
  // Runs of eight symbols, each of a phase of its own, a sixth of a turn further: of the changes nothing is left.
  const wobbleOf = (k: number) => (Math.PI / 3) * (Math.floor(k / 8) ** 2 % 6)
  const toneOf = (k: number) => Math.floor(k / 8) % 2
  const tenth = settled({
    toneOf,
    wobbleOf,
    markStep: 0.1,
    spaceStep: 0.3,
  })
  expect(tenth.markStep).toBeCloseTo(0.1, 1)
  expect(tenth.spaceStep).toBeCloseTo(0.3, 1)
})
