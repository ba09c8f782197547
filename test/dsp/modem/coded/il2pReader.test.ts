// IL2P out of tones that are given one by one; what they are in the audio only matters where they had to be looked at again.
import { describe, expect, it } from 'vitest'
import { il2pOctetCount } from '../../../../dsp/fec/il2p.js'
import { il2pLevels } from '../../../../dsp/fec/il2pStream.js'
import { createIl2pReader } from '../../../../dsp/modem/coded/il2pReader.js'
import type { CandidateFrame } from '../../../../dsp/modem/detector.js'
import { modulateLevels } from '../../../../dsp/modem/modulator.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { addNoise } from '../../../channel/addNoise.js'
import { heardSymbols, ringSymbols } from '../heardSymbols.js'
import { hex, testFrame } from '../receiving.js'

const leadingOctets = 10
/** Behind the sync word. */
const headerAt = 8 * (leadingOctets + 3)
const bodyAt = headerAt + 8 * 15
const frame = testFrame(40, seededRandom(7))

interface Case {
  readonly frames?: readonly Uint8Array[]
  readonly hasCrc?: boolean
  /** of what is sent */
  readonly change?: (levels: Uint8Array) => Uint8Array
  /** of the tones as the first pass decides them; then the audio is there to look at again */
  readonly misread?: (tones: Uint8Array) => void
  /** that the audio then has; without `misread` it is all there is */
  readonly noiseRms?: number
  readonly seed?: number
  /** somebody is told where a frame is expected */
  readonly hasExpect?: boolean
  /** symbols that are given in all */
  readonly symbols?: number
}

function read({
  frames = [frame],
  hasCrc = true,
  change = (same) => same,
  misread,
  noiseRms = 0,
  seed = 1,
  hasExpect = true,
  symbols,
}: Case) {
  const levels = change(il2pLevels({ frames, leadingOctets, trailingOctets: 12, hasCrc })!)
  const audio =
    misread === undefined
      ? addNoise(new Float32Array(10 * levels.length), noiseRms, seededRandom(seed))
      : addNoise(
          modulateLevels(levels, { sampleRateHz: 12_000, peakLevel: 0.3 }),
          noiseRms,
          seededRandom(seed),
        )
  const tones = levels.slice(0, symbols)
  misread?.(tones)
  const { correlations, run, mask } = heardSymbols(audio)
  const heard: CandidateFrame[] = []
  const spans: { startSample: number; endSample: number }[] = []
  const ring = new Uint8Array(ringSymbols)
  const reader = createIl2pReader({
    ...{ correlations, run, mask, tones: ring, detector: 'by hand' },
    sink: {
      frame: (candidate) => {
        heard.push(candidate)
      },
      damaged: () => expect.fail('nothing is damaged'),
      ...(hasExpect && {
        expect: (span: { startSample: number; endSample: number }) => {
          spans.push(span)
        },
      }),
    },
  })
  for (let at = 0; at < tones.length; at += 32) {
    const block = tones.subarray(at, at + 32)
    ring.set(block, at)
    reader.accept(block, {
      ...{ coherence: 1, presence: 1, markStep: 0, spaceStep: 0 },
      ...{ markAmplitude: 1, spaceAmplitude: 1 },
    })
  }
  return { heard, spans, levels, octets: heard.map(({ octets }) => hex(octets)) }
}

/** Noise and seeds. */
const guessed = [
  [0.315, 7],
  [0.33, 2],
  [0.33, 21],
] as const

/** Turns a tone round in each of so many octets, from a symbol on. */
const wrongOctets =
  (from: number, count: number) =>
  (levels: Uint8Array): Uint8Array => {
    for (let octet = 0; octet < count; octet++) levels[from + 8 * octet + (octet % 8)]! ^= 1
    return levels
  }

describe('a frame', () => {
  it.each([true, false])('is told with its place, levels and code, with a CRC: %s', (hasCrc) => {
    const { heard, spans, levels } = read({ hasCrc })
    const most = headerAt + 8 * il2pOctetCount(frame)!
    const end = hasCrc ? most : most - 32
    expect(heard).toEqual([
      {
        ...{ octets: frame, startSample: 10 * (headerAt - 24), endSample: 10 * end },
        ...{ precedingFlags: 0, repairedBits: 0, detector: 'by hand' },
        ...{ code: { kind: 'IL2P', correctedOctets: 0 } },
        levels: levels.slice(headerAt - 24, end),
      },
    ])
    // Whether there is a CRC shows at its end.
    expect(spans).toEqual([{ startSample: 10 * (headerAt - 24), endSample: 10 * most }])
  })

  it('is told when its last symbol is there, its stretch when its header is', () => {
    const end = headerAt + 8 * il2pOctetCount(frame)!
    expect(read({ symbols: end - 1 }).heard).toHaveLength(0)
    expect(read({ symbols: end }).heard).toHaveLength(1)
    expect(read({ symbols: bodyAt - 1 }).spans).toHaveLength(0)
    expect(read({ symbols: bodyAt }).spans).toHaveLength(1)
  })

  it('and several behind each other are told in their order', () => {
    const frames = [frame, testFrame(300, seededRandom(8)), testFrame(5, seededRandom(9))]
    expect(read({ frames }).octets).toEqual(frames.map(hex))
  })
})

it('a frame is told also where nobody is told that one is expected', () => {
  expect(read({ hasExpect: false }).octets).toEqual([hex(frame)])
})

describe('a sync word', () => {
  const withSync = (...wrong: readonly number[]) =>
    read({
      change: (levels) => {
        for (const bit of wrong) levels[headerAt - 24 + bit]! ^= 1
        return levels
      },
    }).octets

  it('may have one wrong bit, wherever it is, and no more', () => {
    for (let bit = 0; bit < 24; bit++) expect(withSync(bit)).toEqual([hex(frame)])
    for (let bit = 1; bit < 24; bit++) expect(withSync(0, bit)).toEqual([])
  })

  const sync = [0xf1, 0x5e, 0x48, 0x55, 0x55, 0x55].flatMap((octet) =>
    Array.from({ length: 8 }, (_, bit) => (octet >> (7 - bit)) & 1),
  )

  it.each([
    [1, true],
    [2, false],
  ])('%i that only seem to be one, shortly before: the frame is read: %s', (count, isRead) => {
    const { octets, spans } = read({
      change: (levels) =>
        Uint8Array.from([
          ...new Array<number[]>(count).fill(sync).flat(),
          ...levels.slice(headerAt - 24),
        ]),
    })
    expect(octets).toEqual(isRead ? [hex(frame)] : [])
    expect(spans).toHaveLength(isRead ? 1 : 0)
  })

  it('without a header behind it is forgotten, so that later ones are read', () => {
    const { octets } = read({
      change: (levels) =>
        Uint8Array.from([
          ...[...sync, ...sync, ...new Array<number>(120).fill(0)],
          ...levels.slice(headerAt - 24),
        ]),
    })
    expect(octets).toEqual([hex(frame)])
  })
})

describe('wrong octets', () => {
  it.each([
    [1, [hex(frame)]],
    [8, [hex(frame)]],
    [9, []],
  ])('%i of a block: corrected where that is half of its check octets', (count, expected) => {
    const { heard, octets } = read({ change: wrongOctets(bodyAt, count) })
    expect(octets).toEqual(expected)
    for (const { code } of heard) expect(code!.correctedOctets).toBe(count)
  })

  it('more of them are not, in noise in which nothing can be fitted', () => {
    for (const seed of [1, 2, 3])
      expect(read({ change: wrongOctets(bodyAt, 9), noiseRms: 0.1, seed }).octets).toEqual([])
  })

  it('one of the header is corrected, and counted with those of the block', () => {
    const { heard } = read({
      change: (levels) => wrongOctets(bodyAt, 3)(wrongOctets(headerAt + 24, 1)(levels)),
    })
    expect(heard.map(({ code }) => code!.correctedOctets)).toEqual([4])
  })
})

describe('what was misread is looked at again in the audio', () => {
  it.each([
    ['six octets of the header', headerAt, 6],
    ['20 octets of the block', bodyAt, 20],
  ])('%s', (_what, from, count) => {
    const misread = wrongOctets(from, count)
    const { heard, octets } = read({ misread })
    expect(octets).toEqual([hex(frame)])
    expect(heard[0]!.code!.correctedOctets).toBeLessThanOrEqual(1)
    // Without the audio it is lost.
    expect(read({ change: misread }).octets).toEqual([])
  })
})

it('nor is what needed guesses taken without a CRC', () => {
  // With one all of these are: see below.
  for (const [noiseRms, seed] of guessed)
    expect(
      read({ noiseRms, seed, hasCrc: false, misread: wrongOctets(bodyAt, 12) }).octets,
    ).toEqual([])
})

// Eight octets of the block are corrected by themselves. Seeds for which those that the second look is least sure of are enough.
it.each(guessed)(
  'in noise of %f RMS, seed %i, the least certain octets are left out',
  (noiseRms, seed) => {
    const { heard, octets } = read({ noiseRms, seed, misread: wrongOctets(bodyAt, 12) })
    expect(octets).toEqual([hex(frame)])
    expect(heard[0]!.code!.correctedOctets).toBeGreaterThan(8)
  },
)

describe('without a right CRC', () => {
  /** A response of addresses and a control octet, which the header holds whole: there are no blocks. */
  const receiveReady = Uint8Array.of(...frame.subarray(0, 13), frame[13]! | 0x80, 0x21)
  const odd = frame.slice()
  odd.fill(0x02, 20)

  it.each([
    ['a text in blocks is taken', frame, 0, true],
    ['odd octets are not', odd, 0, false],
    ['nor is a header that had to be corrected', frame, 1, false],
    ['nor is a header alone', receiveReady, 0, false],
  ])('%s', (_what, octets, wrong, isTaken) => {
    const change = wrongOctets(headerAt + 24, wrong)
    expect(read({ frames: [octets], hasCrc: false, change }).heard).toHaveLength(isTaken ? 1 : 0)
    // With one all of them are.
    expect(read({ frames: [octets], change }).octets).toEqual([hex(octets)])
  })
})
