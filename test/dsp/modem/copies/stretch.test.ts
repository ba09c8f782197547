// Which symbols are kept for another copy: audio whose symbols lie on a grid, and presence by hand, block by block.
import { describe, expect, it } from 'vitest'
import { encodeNrzi } from '../../../../dsp/framing/nrzi.js'
import { createStretchCollector, type Stretch } from '../../../../dsp/modem/copies/stretch.js'
import { modulateLevels } from '../../../../dsp/modem/modulator.js'
import type { BlockEstimate } from '../../../../dsp/modem/sequence/phaseStep.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { heardSymbols } from '../heardSymbols.js'

const random = seededRandom(14)
const randomTones = Uint8Array.from({ length: 3600 }, () => (random() < 0.5 ? 1 : 0))
const flagTones = (count: number): Uint8Array =>
  encodeNrzi(Uint8Array.from({ length: count }, (_, k) => [0, 1, 1, 1, 1, 1, 1, 0][k % 8]!))

interface Run {
  readonly tones?: Uint8Array
  /** of each block */
  readonly presences: readonly number[]
  readonly estimateOf?: (block: number) => Partial<BlockEstimate>
  /** frames that were found: after how many blocks it is told, and where they are */
  readonly frames?: readonly (readonly [number, number, number])[]
  readonly finishes?: boolean
  /** symbols that are known, where they are not all */
  readonly known?: number
  readonly change?: (audio: Float32Array) => void
}

function collected({ tones = randomTones, presences, frames = [], ...rest }: Run): Stretch[] {
  const { estimateOf, finishes = true, known, change } = rest
  const audio = modulateLevels(tones, { sampleRateHz: 12_000, peakLevel: 0.2 })
  change?.(audio)
  const { correlations, run } = heardSymbols(audio)
  const stretches: Stretch[] = []
  const symbols = {
    ...{ run, lineQuality: new Float32Array(8192), count: known ?? tones.length - 2 },
    advance: () => undefined,
  }
  const collector = createStretchCollector(symbols, correlations, (one) => stretches.push(one))
  for (let block = 0; block <= presences.length; block++) {
    for (const [after, from, to] of frames) if (after === block) collector.frame(from, to)
    if (block < presences.length)
      collector.block({
        ...{ coherence: 0.9, presence: presences[block]!, markStep: 0, spaceStep: 0 },
        ...{ markAmplitude: 1, spaceAmplitude: 1, ...estimateOf?.(block) },
      })
  }
  if (finishes) collector.finish()
  return stretches
}

const blocksOf = (...runs: readonly (readonly [number, number])[]): number[] =>
  runs.flatMap(([count, presence]) => new Array<number>(count).fill(presence))

/** First symbol and end. */
const places = (stretches: readonly Stretch[]): number[][] =>
  stretches.map(({ startSample, count }) => {
    const first = Math.round(startSample / 10)
    return [first, first + count]
  })

describe('a signal', () => {
  it.each([
    ['from its first block on', [[8, 1]], [[0, 256]]],
    [
      'from the block before the one in which it shows',
      [
        [3, 0],
        [8, 1],
      ],
      [[64, 352]],
    ],
    ['not below a mean presence of a half', [[8, 0.49]], []],
    ['from a half on', [[8, 0.5]], [[0, 256]]],
    [
      'on, when it has become weaker',
      [
        [2, 0.6],
        [8, 0.42],
      ],
      [[0, 320]],
    ],
    [
      'until it has become too weak',
      [
        [6, 0.6],
        [8, 0.41],
      ],
      [[0, 224]],
    ],
    [
      'until it is gone, and half of its last block counts',
      [
        [6, 1],
        [8, 0],
      ],
      [[0, 224]],
    ],
    [
      'on, when it only faded for three blocks',
      [
        [6, 1],
        [4, 0],
        [4, 1],
      ],
      [[0, 448]],
    ],
    [
      'until it has faded for four',
      [
        [6, 1],
        [5, 0],
        [6, 1],
      ],
      [
        [0, 224],
        [320, 544],
      ],
    ],
    [
      'when it is too short for a frame',
      [
        [3, 1],
        [8, 0],
      ],
      [],
    ],
  ] as [string, [number, number][], number[][]][])('is kept %s', (_what, presences, expected) => {
    expect(places(collected({ presences: blocksOf(...presences) }))).toEqual(expected)
  })

  it('has in its means no block from before it began', () => {
    const estimateOf = (block: number) => (block < 6 ? { coherence: 0.4, markStep: 1 } : {})
    const [stretch, ...more] = collected({ presences: blocksOf([7, 0], [6, 1]), estimateOf })
    expect(more).toEqual([])
    expect(stretch!.markStep).toBe(0)
  })

  it('is kept when it has ended, without waiting for the end of the stream', () => {
    const presences = blocksOf([6, 1], [5, 0])
    expect(collected({ presences, finishes: false })).toHaveLength(1)
    expect(collected({ presences: presences.slice(0, -1), finishes: false })).toHaveLength(0)
    // With the end of the stream nothing comes twice.
    expect(collected({ presences })).toHaveLength(1)
  })

  it('that does not end is kept in parts of 106 blocks', () => {
    expect(places(collected({ presences: blocksOf([108, 1]), finishes: false }))).toEqual([
      [0, 3392],
    ])
    expect(collected({ presences: blocksOf([105, 1]), finishes: false })).toEqual([])
  })

  it('is kept as far as its symbols are known', () => {
    expect(places(collected({ presences: blocksOf([8, 1]), known: 250 }))).toEqual([[0, 250]])
  })

  it.each([
    [0.485, 1],
    [0.475, 0],
  ])('of mean coherence %f: %i', (mean, count) => {
    const estimateOf = (block: number) => ({ coherence: mean + (block % 2 === 0 ? 0.1 : -0.1) })
    expect(collected({ presences: blocksOf([8, 1]), estimateOf })).toHaveLength(count)
  })
})

describe('what frames account for', () => {
  const presences = blocksOf([30, 1])

  it('is left out, in whatever order they are told', () => {
    const frames = [
      [25, 600, 700],
      [26, 200, 400],
    ] as const
    const expected = [
      [0, 200],
      [400, 600],
      [700, 960],
    ]
    expect(places(collected({ presences, frames }))).toEqual(expected)
    expect(places(collected({ presences, frames: frames.toReversed() }))).toEqual(expected)
  })

  it('may overlap, and reach beyond the signal', () => {
    const frames = [
      [20, 200, 700],
      [20, 300, 400],
      [20, 900, 1000],
    ] as const
    expect(places(collected({ presences, frames }))).toEqual([
      [0, 200],
      [700, 900],
    ])
  })

  it.each([
    [159, 1],
    [158, 0],
  ])('leaves %i symbols: %i stretch', (left, count) => {
    expect(collected({ presences, frames: [[20, left, 960]] })).toHaveLength(count)
  })

  it('belongs to the signal in which it was told', () => {
    const two = blocksOf([8, 1], [6, 0], [8, 1])
    const own = [[5, 0, 250]] as const
    expect(places(collected({ presences: two, frames: own }))).toEqual([[416, 704]])
    // Told while there was none: an earlier one's.
    expect(places(collected({ presences: two, frames: [[0, 0, 250]] }))).toEqual([
      [0, 288],
      [416, 704],
    ])
    expect(places(collected({ presences: two, frames: [[13, 416, 704]] }))).toEqual([
      [0, 288],
      [416, 704],
    ])
  })
})

describe('a stretch', () => {
  it('has its symbols, where they are and what they are worth', () => {
    const [stretch] = collected({ presences: blocksOf([8, 1]) })
    expect(stretch).toMatchObject({ count: 256, markStep: 0, markAmplitude: 1, spaceAmplitude: 1 })
    expect(stretch!.startSample).toBeCloseTo(0, 6)
    expect(stretch!.symbolLength).toBeCloseTo(10, 9)
    const { leads, run, weights } = stretch!
    const marks = (tone: number): boolean => randomTones[tone] === 1
    for (let k = 1; k < 255; k++) expect(leads[k]! > 0).toBe(marks(k))
    expect(leads.reduce((sum, one) => sum + one, 0) / 256).toBeCloseTo(0, 5)
    expect(leads.reduce((sum, one) => sum + one * one, 0) / 256).toBeCloseTo(1, 5)
    // A tone of amplitude 0.2 gives 1 over ten samples.
    for (let k = 0; k < 256; k++) {
      const size = marks(k)
        ? Math.hypot(run.markRe[k]!, run.markIm[k]!)
        : Math.hypot(run.spaceRe[k]!, run.spaceIm[k]!)
      expect(Math.abs(size - 1)).toBeLessThan(0.25)
    }
    expect(Math.min(...weights)).toBeGreaterThan(0.3)
    expect(Math.max(...weights)).toBe(1)
  })

  it('its steps and amplitudes are the mean of its blocks, those of much coherence before all', () => {
    const estimateOf = (block: number) =>
      block % 2 === 0
        ? { coherence: 1, markStep: 0.1, spaceStep: 0.2, markAmplitude: 2, spaceAmplitude: 4 }
        : { coherence: 0.5, markStep: 0.3, spaceStep: 0, markAmplitude: 1, spaceAmplitude: 1 }
    const [stretch] = collected({ presences: blocksOf([8, 1]), estimateOf })
    // Sixteen parts of the one and one of the other.
    expect(stretch!.markStep).toBeCloseTo((16 * 0.1 + 0.3) / 17, 9)
    expect(stretch!.spaceStep).toBeCloseTo((16 * 0.2) / 17, 9)
    expect(stretch!.markAmplitude).toBeCloseTo(33 / 17, 9)
    expect(stretch!.spaceAmplitude).toBeCloseTo(65 / 17, 9)
    // More than was heard: the noise is taken for a hundredth of the signal at least.
    const signal = ((33 / 17) ** 2 + (65 / 17) ** 2) / 2
    expect(stretch!.variance).toBeCloseTo(0.01 * signal, 6)
  })

  it('is trusted less where it is noisy', () => {
    const noise = seededRandom(5)
    const change = (audio: Float32Array): void => {
      for (let n = 1000; n < 1500; n++) audio[n]! += 2 * (noise() - 0.5)
    }
    const [{ weights, variance } = { weights: [], variance: 0 }] = collected({
      ...{ presences: blocksOf([8, 1]), change },
    })
    expect(weights[120]).toBeLessThan(0.3)
    expect(weights[20]).toBe(1)
    expect(weights[240]).toBe(1)
    expect(Math.min(...weights)).toBeGreaterThanOrEqual(Math.fround(0.02))
    expect(variance).toBeGreaterThan(0.1)
  })
})

describe('flags', () => {
  const joined = (...parts: readonly Uint8Array[]): Uint8Array =>
    Uint8Array.from(parts.flatMap((part) => [...part]))

  it('alone are not kept', () => {
    expect(collected({ tones: flagTones(640), presences: blocksOf([19, 1]) })).toEqual([])
  })

  it('around something are kept as far as 40 symbols, and what is seen with 16 on each side', () => {
    const content = randomTones.subarray(0, 240)
    const tones = joined(flagTones(320), content, flagTones(320))
    const [place, ...more] = places(collected({ tones, presences: blocksOf([27, 1]) }))
    expect(more).toEqual([])
    const [first, end] = place!
    expect(320 - first!).toBeGreaterThan(40)
    expect(320 - first!).toBeLessThan(76)
    expect(end! - 560).toBeGreaterThan(16)
    expect(end! - 560).toBeLessThan(76)
  })

  it('of what is short between them nothing is kept', () => {
    const content = randomTones.subarray(0, 100)
    const tones = joined(flagTones(320), content, flagTones(320))
    expect(collected({ tones, presences: blocksOf([22, 1]) })).toEqual([])
  })
})
