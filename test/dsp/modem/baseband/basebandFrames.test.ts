// From blocks of decided levels to frames. What a second look has to go by, the stream, is written by hand and may know better.
import { describe, expect, it } from 'vitest'
import { encodeHdlc } from '../../../../dsp/framing/hdlcEncoder.js'
import { encodeNrzi } from '../../../../dsp/framing/nrzi.js'
import { scramble } from '../../../../dsp/framing/scrambler.js'
import { createBasebandFrames } from '../../../../dsp/modem/baseband/basebandFrames.js'
import type { FoundBits } from '../../../../dsp/modem/baseband/basebandReports.js'
import { bitCapacity } from '../../../../dsp/modem/baseband/bits.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { hex, testFrame } from '../receiving.js'
import { sentLevels, streamByHand } from './streamByHand.js'

const blockBits = 32
const frame = testFrame(20, seededRandom(3))
const sent = sentLevels([frame])
/** Behind 12 flags of fill and the opening one; before the closing one and 6 of fill. */
const contentFirst = 8 * 13
const contentEnd = sent.length - 8 * 7

const flip = (levels: Uint8Array, bits: readonly number[]): Uint8Array =>
  levels.map((level, bit) => (bits.includes(bit) ? 1 - level : level))
/** So many that nothing helps. */
const ruined = [120, 131, 143, 150, 166, 171, 188, 197, 210, 221]

interface Case {
  /** what the stream tells; as decided unless given */
  readonly heard?: Uint8Array
  readonly estimateAt?: (block: number) => { coherence?: number; presence?: number }
  readonly presenceAt?: (bit: number) => number
  readonly isNoise?: (block: number) => boolean
  /** noise behind it, by which it ends */
  readonly blocksBehind?: number
}

/** @param decided levels, brought to whole blocks by silence */
function bench(decided: Uint8Array, { heard = decided, ...more }: Case = {}) {
  const blocks = Math.ceil(decided.length / blockBits) + (more.blocksBehind ?? 2)
  const stream = streamByHand(blocks * blockBits, {
    valueAt: (bit) => (heard[bit] === undefined ? 0 : 2 * heard[bit] - 1),
    presenceAt: (bit) => more.presenceAt?.(bit) ?? 1,
  })
  const frames: FoundBits[] = []
  const damaged: [number, number][] = []
  const levelsOf: FoundBits['bitAt'][] = []
  const reports = {
    frame: (found: FoundBits) => {
      frames.push(found)
    },
    damaged: (first: number, end: number, bitAt: FoundBits['bitAt']) => {
      damaged.push([first, end])
      levelsOf.push(bitAt)
    },
    take: () => [],
    takeDamaged: () => [],
    counters: { frames: 0, repaired: 0, fcsRejected: 0, implausible: 0 },
  }
  const receiver = createBasebandFrames(stream, reports, 'none')
  const accept = (block: number, levels: Uint8Array, isNoise = false): void => {
    const isBehind = block * blockBits >= decided.length
    const estimate = { coherence: 0.9, presence: isBehind ? 0 : 0.9, ...more.estimateAt?.(block) }
    receiver.accept(levels, { height: 1, offset: 0, ...estimate }, isNoise)
  }
  for (let block = 0; block < blocks; block++) {
    const bits = new Uint8Array(blockBits)
    bits.set(decided.subarray(block * blockBits, (block + 1) * blockBits))
    accept(block, bits, more.isNoise?.(block) ?? false)
  }
  return {
    ...{ frames, damaged, levelsOf, accept, blocks },
    octets: frames.map(({ segment }) => hex(segment.octetsWithFcs.slice(0, -2))),
  }
}

const levelsIn = (bitAt: FoundBits['bitAt'], from: number, to: number): number[] =>
  Array.from({ length: to - from }, (_, at) => bitAt(from + at))

describe('a frame that is right as decided', () => {
  it('is told with its place and the levels before the descrambler', () => {
    const { frames, octets, damaged } = bench(sent)
    expect(octets).toEqual([hex(frame)])
    const [{ segment, bitAt, ...rest }] = frames as [FoundBits]
    expect(rest).toEqual({ firstBit: 0, repairedBits: 0 })
    const place = { start: contentFirst - 8, end: contentEnd + 8 }
    expect(segment).toMatchObject({ ...place, fcsRight: true })
    expect(levelsIn(bitAt, 0, sent.length)).toEqual([...sent])
    expect(damaged).toEqual([])
  })

  const odd = frame.slice()
  odd.fill(2, 20)

  it.each([
    [0.69, false],
    [0.71, true],
  ])('at a coherence of %f its content need not make sense: %s', (coherence, isFree) => {
    const run = (octets: Uint8Array) =>
      bench(sentLevels([octets]), { estimateAt: () => ({ coherence }) }).octets
    expect(run(odd)).toEqual(isFree ? [hex(odd)] : [])
    expect(run(frame)).toEqual([hex(frame)])
  })
})

describe('a block', () => {
  it('is descrambled in place; of noise it is left as it is', () => {
    const { accept, blocks } = bench(new Uint8Array(0))
    const plain = encodeNrzi(encodeHdlc({ frames: [frame], leadingFlags: 9, trailingFlags: 1 }))
    const scrambled = scramble(plain)
    const first = scrambled.slice(0, blockBits)
    accept(blocks, first)
    const second = scrambled.slice(blockBits, 2 * blockBits)
    accept(blocks + 1, second)
    expect([...second]).toEqual([...plain.slice(blockBits, 2 * blockBits)])
    const noise = scrambled.slice(0, blockBits)
    accept(blocks + 2, noise, true)
    expect([...noise]).toEqual([...scrambled.slice(0, blockBits)])
  })

  it('of noise counts as zeros, also where something stood a turn of the ring before', () => {
    const turn = bitCapacity / blockBits
    const { frames, accept, blocks } = bench(sent)
    const { bitAt } = frames[0]!
    const noisy = bitCapacity + 96
    expect(levelsIn(bitAt, noisy, noisy + 64)).toEqual([...sent.subarray(96, 160)])
    for (let block = blocks; block <= turn + 3; block++)
      accept(block, new Uint8Array(blockBits).fill(1), block === turn + 3)
    // The next block still has what was there.
    expect(levelsIn(bitAt, noisy, noisy + 64)).toEqual([
      ...new Array<number>(32).fill(0),
      ...sent.subarray(128, 160),
    ])
    expect(bitAt(noisy - 1)).toBe(1)
  })

  it('of noise within a frame ends it', () => {
    const heard = flip(sent, ruined)
    expect(bench(sent, { heard }).octets).toEqual([hex(frame)])
    expect(bench(sent, { heard, isNoise: (block) => block === 6 }).octets).toEqual([])
  })
})

describe('a damaged frame', () => {
  const wrong = flip(sent, [200, 230])

  it('is gone over again, and told with its place and with the levels that were then decided', () => {
    const { frames, octets, damaged } = bench(wrong, { heard: sent })
    expect(octets).toEqual([hex(frame)])
    const [{ segment, bitAt, firstBit, repairedBits }] = frames as [FoundBits]
    // 40 bits before the flag help to fit; 17 the descrambler needs, and a flag.
    expect(firstBit).toBe(contentFirst - 8 - 40 - 25)
    expect(firstBit + segment.start).toBe(contentFirst - 8)
    expect(firstBit + segment.end).toBe(contentEnd + 8)
    expect(repairedBits).toBe(0)
    expect(levelsIn(bitAt, contentFirst, contentEnd)).toEqual([
      ...sent.subarray(contentFirst, contentEnd),
    ])
    expect(damaged).toEqual([])
  })

  it('is told where it lies if that does not help', () => {
    const { frames, damaged, levelsOf } = bench(flip(sent, ruined))
    expect(frames).toEqual([])
    expect(damaged).toEqual([[contentFirst, contentEnd]])
    expect(levelsIn(levelsOf[0]!, 0, sent.length)).toEqual([...flip(sent, ruined)])
  })

  it('at the very beginning is gone over from there', () => {
    // Three flags before it.
    const levels = scramble(
      encodeNrzi(encodeHdlc({ frames: [frame], leadingFlags: 4, trailingFlags: 4 })),
    )
    const { frames, octets } = bench(flip(levels, [150]), { heard: levels })
    expect(octets).toEqual([hex(frame)])
    expect(frames[0]!.firstBit).toBe(0)
  })

  it('that was put right leaves the next one its own, one that was not is tried with it, too', () => {
    const two = sentLevels([frame, frame])
    const end = two.length - 8 * 7
    const between = contentEnd
    const second = ruined.map((bit) => bit + between - contentFirst + 8)
    const both = flip(two, [...ruined, ...second])
    expect(bench(both).damaged).toEqual([
      [contentFirst, between],
      [between + 8, end],
      [contentFirst, end],
    ])
    const onlySecond = bench(flip(two, [200, ...second]), { heard: flip(two, second) })
    expect(onlySecond.octets).toEqual([hex(frame)])
    expect(onlySecond.damaged).toEqual([[between + 8, end]])
  })

  it.each([
    [0.41, 0],
    [0.43, 1],
  ])('at a coherence of %f: %i is told', (coherence, count) => {
    const estimateAt = () => ({ coherence })
    expect(bench(flip(sent, ruined), { estimateAt }).damaged).toHaveLength(count)
  })

  it.each([
    ['first', contentFirst],
    ['last', contentEnd],
  ])('is not told where the signal is not there at its %s bit', (_which, at) => {
    for (const [presence, count] of [
      [0.279, 0],
      [0.281, 1],
    ] as const) {
      const presenceAt = (bit: number): number => (bit === at ? presence : 1)
      expect(bench(flip(sent, ruined), { presenceAt }).damaged).toHaveLength(count)
    }
  })

  it('is not told without its opening flag, nor without its closing one, but gone over', () => {
    // The signal begins with the block of bit 128.
    const late = { estimateAt: (block: number) => (block < 4 ? { presence: 0 } : {}) }
    expect(bench(flip(sent, ruined), late).damaged).toEqual([])
    // It ends with the frame's last whole block.
    const cut = flip(sent, ruined).slice(0, blockBits * Math.floor(contentEnd / blockBits))
    expect(bench(cut, { blocksBehind: 4 }).damaged).toEqual([])
    const early = sent.slice(0, contentEnd + 8)
    expect(bench(flip(early, [200]), { heard: early }).octets).toEqual([hex(frame)])
  })
})

/** Content of so many bits, no frame, between flags. */
function betweenFlags(bits: number): Uint8Array {
  const flags = encodeHdlc({ frames: [], leadingFlags: 10, trailingFlags: 1 })
  const content = Array.from({ length: bits }, (_, bit) => (bit % 3 === 0 ? 1 : 0))
  return scramble(encodeNrzi(Uint8Array.from([...flags, ...content, ...flags])))
}

describe('a segment', () => {
  it.each([
    [135, 0],
    [136, 1],
    [7000, 1],
    [7001, 0],
  ])('of %i bits: %i is told', (bits, count) => {
    expect(bench(betweenFlags(bits)).damaged).toHaveLength(count)
  })

  // The level is the mean of two blocks: a signal is there from 0.4 on, and until it is below 0.28.
  it.each([
    [0.39, 0],
    [0.41, 1],
  ])('of a presence of %f is a signal: %i', (presence, count) => {
    const estimateAt = () => ({ presence })
    expect(bench(flip(sent, ruined), { estimateAt }).damaged).toHaveLength(count)
  })

  it.each([
    [0.27, 0],
    [0.29, 1],
  ])('that comes down to a presence of %f still is one: %i', (presence, count) => {
    const estimateAt = (block: number) => (block < 5 ? {} : { presence })
    expect(bench(flip(sent, ruined), { estimateAt }).damaged).toHaveLength(count)
  })
})

describe('with check octets', () => {
  const coded = sentLevels([frame], { kind: 'fx25', checkOctets: 16 })
  /** Behind 13 flags and the tag of 64 bits. */
  const blockFirst = 8 * 13 + 64
  /** One of every so many octets, in a text that is long enough. */
  const misread = (octets: number): Uint8Array =>
    flip(
      coded,
      Array.from({ length: octets }, (_, n) => blockFirst + 16 * n + 3),
    )

  it('a frame that was right says that none had to be corrected', () => {
    const { frames, octets } = bench(coded)
    expect(octets).toEqual([hex(frame)])
    expect(frames[0]!.code).toEqual({ kind: 'FX.25', correctedOctets: 0 })
    expect(frames[0]!.firstBit).toBe(0)
  })

  it('a wrong one is corrected, and told how far, with its place and the levels as decided', () => {
    const levels = misread(1)
    const { frames, octets, damaged } = bench(levels)
    expect(octets).toEqual([hex(frame)])
    const [{ segment, bitAt, code, firstBit, repairedBits }] = frames as [FoundBits]
    expect([firstBit, repairedBits]).toEqual([blockFirst, 0])
    expect(segment.start).toBe(0)
    expect(levelsIn(bitAt, 0, levels.length)).toEqual([...levels])
    // One level is behind descrambler and NRZI two bits, and again two each 12 and 17 later.
    expect(code).toEqual({ kind: 'FX.25', correctedOctets: 3 })
    expect(damaged).toEqual([])
  })

  it('too many are not, and what stands there is gone over', () => {
    const { octets, damaged } = bench(misread(12))
    expect(octets).toEqual([])
    expect(damaged.length).toBeGreaterThan(0)
    const knowing = bench(misread(12), { heard: coded })
    expect(knowing.octets).toEqual([hex(frame)])
    expect(knowing.frames[0]!.code).toBeUndefined()
    expect(knowing.damaged).toEqual([])
  })
})
