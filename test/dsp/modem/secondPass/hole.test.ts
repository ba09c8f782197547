// Samples cut out of a frame whose timing on either side is known.
import { describe, expect, it } from 'vitest'
import { whiteNoise } from '../../../../dsp/channel/noise.js'
import { encodeHdlc } from '../../../../dsp/framing/hdlcEncoder.js'
import { encodeNrzi } from '../../../../dsp/framing/nrzi.js'
import { modulateLevels } from '../../../../dsp/modem/modulator.js'
import { createHoleRepair, type FrameAcrossHole } from '../../../../dsp/modem/secondPass/hole.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { addNoise } from '../../../channel/addNoise.js'
import { heardSymbols } from '../heardSymbols.js'
import { hex, testFrame } from '../receiving.js'

const leadingFlags = 6
const frame = testFrame(40, seededRandom(3))

interface Case {
  readonly frames?: readonly Uint8Array[]
  /** first sample that is lost, and how many are */
  readonly from: number
  readonly lost: number
  /** where the first pass sees the jump, symbols from the hole */
  readonly seenLate?: number
  readonly noiseRms?: number
  readonly change?: (levels: Uint8Array) => void
  readonly flagsBefore?: number
  readonly flagsBehind?: number
  /** samples in which there is noise alone */
  readonly noisy?: readonly [number, number]
  /** symbols that the segment has, where it has not all of them */
  readonly segmentSymbols?: number
}

function attempt({ frames = [frame], from, lost, seenLate = 0, noiseRms = 0.005, ...rest }: Case) {
  const { flagsBefore = leadingFlags, flagsBehind = 4, noisy, segmentSymbols } = rest
  const levels = encodeNrzi(
    encodeHdlc({ frames, leadingFlags: flagsBefore, trailingFlags: flagsBehind }),
  )
  rest.change?.(levels)
  const whole = modulateLevels(levels, { sampleRateHz: 12_000, peakLevel: 0.3 })
  const cut = Float32Array.from([...whole.subarray(0, from), ...whole.subarray(from + lost)])
  const audio = addNoise(cut, noiseRms, seededRandom(from + lost))
  if (noisy !== undefined)
    audio.set(whiteNoise(noisy[1] - noisy[0], 0.2, seededRandom(2)), noisy[0])
  // As the search for timing follows it: the next symbol begins where the new grid is nearest.
  const jump = -(((lost + 5) % 10) - 5)
  const at = Math.round(from / 10) + seenLate
  const startOf = (k: number): number => 10 * k + (k >= at ? jump : 0)
  const { correlations, run, mask } = heardSymbols(audio, startOf)
  const symbolCount = segmentSymbols ?? Math.floor(audio.length / 10) - 2
  const found = createHoleRepair(correlations).attempt({
    ...{ run, mask, firstSymbol: 0, symbolCount, tones: new Uint8Array(mask + 1) },
    ...{ markStep: 0, spaceStep: 0, startsWithSignal: false },
  })
  return { found, end: 10 * (levels.length - 24) - lost }
}

const octetsOf = (found: readonly FrameAcrossHole[]): string[] =>
  found.map(({ octets }) => hex(octets))

describe('a frame with lost samples', () => {
  it.each([
    [1503, 3, 0],
    [1777, 7, 0],
    [2345, 13, 10],
    [2000, 24, -10],
    [3001, 2, 30],
    [1111, 18, -30],
    [2468, 33, 0],
    [1770, 44, 0],
    [2177, 36, 12],
    [3344, 42, -12],
  ])(
    'from sample %i on, %i of them: is read across, where the first pass saw it %i symbols off',
    (from, lost, seenLate) => {
      const { found, end } = attempt({ from, lost, seenLate })
      expect(octetsOf(found)).toEqual([hex(frame)])
      const [across] = found
      expect(Math.abs(across!.startSample - 80 * (leadingFlags - 1))).toBeLessThan(1)
      expect(Math.abs(across!.endSample - end)).toBeLessThan(1)
      expect(across!.precedingFlags).toBe(leadingFlags)
      // The tones that may have been lost, or of which too little is left.
      expect(across!.repairedBits).toBeGreaterThanOrEqual(Math.max(1, Math.floor(lost / 10)))
      expect(across!.repairedBits).toBeLessThanOrEqual(4)
    },
  )

  it.each([
    ['whole symbols are lost, which timing does not show', { from: 2000, lost: 10 }],
    ['more is lost than four tones', { from: 2000, lost: 57 }],
    ['nothing is lost', { from: 2000, lost: 0 }],
    ['noise is as loud as the signal', { from: 2000, lost: 13, noiseRms: 0.35 }],
    [
      'its FCS is wrong besides',
      {
        ...{ from: 2000, lost: 13 },
        change: (levels: Uint8Array) => {
          levels[300]! ^= 1
        },
      },
    ],
  ] satisfies [string, Case][])('is none where %s', (_what, one) => {
    expect(attempt(one).found).toEqual([])
  })

  it('odd content with a right FCS is none', () => {
    const odd = frame.slice()
    odd.fill(0x02, 20)
    expect(attempt({ frames: [odd], from: 2000, lost: 13 }).found).toEqual([])
  })

  it('one that lies wholly before or behind the hole is not what is looked for', () => {
    const second = testFrame(40, seededRandom(4))
    const between = 10 * encodeHdlc({ frames: [frame], leadingFlags, trailingFlags: 1 }).length
    const both = [frame, second]
    expect(octetsOf(attempt({ frames: both, from: between + 903, lost: 3 }).found)).toEqual([
      hex(second),
    ])
    expect(octetsOf(attempt({ frames: both, from: between - 903, lost: 3 }).found)).toEqual([
      hex(frame),
    ])
  })
})

describe('a line that fits no signal', () => {
  // The frame is there and whole, but for the hole; what stands around it is not.
  it.each([
    ['before the hole', { flagsBefore: 56, from: 5103 }, [0, 4000]],
    ['behind it', { flagsBehind: 56, from: 3703 }, [5400, 9600]],
  ] as const)('%s: nothing is told from noise', (_where, one, noisy) => {
    expect(octetsOf(attempt({ ...one, lost: 3 }).found)).toEqual([hex(frame)])
    expect(attempt({ ...one, lost: 3, noisy }).found).toEqual([])
  })
})

it.each([
  [3500, 1],
  [3501, 0],
])('a segment of %i symbols: %i', (segmentSymbols, count) => {
  const one = { flagsBehind: 400, from: 2003, lost: 3, segmentSymbols }
  expect(attempt(one).found).toHaveLength(count)
})

it('what is longer than can be fitted is left alone', () => {
  const long = [testFrame(250, seededRandom(5)), testFrame(250, seededRandom(6))]
  expect(attempt({ frames: long, from: 4003, lost: 3 }).found).toEqual([])
})
