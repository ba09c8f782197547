// Height and offset of bits that are written into a stream by hand.
import { describe, expect, it } from 'vitest'
import { type BitStream, bitCapacity, bitMask } from '../../../../dsp/modem/baseband/bits.js'
import { blocksWithLevels, estimateLevels } from '../../../../dsp/modem/baseband/blockLevels.js'

const blockBits = 32

/** Blocks of bits of a height about an offset, three of 1 for each of 0; `first` is their number in the stream. */
function streamOf(
  blocks: readonly { height: number; offset: number; coherence?: number; presence?: number }[],
  first = 0,
): BitStream {
  const value = new Float32Array(bitCapacity).fill(Number.NaN)
  const coherence = new Float32Array(bitCapacity).fill(Number.NaN)
  const presence = new Float32Array(bitCapacity)
  blocks.forEach((block, number) => {
    for (let bit = 0; bit < blockBits; bit++) {
      const at = ((first + number) * blockBits + bit) & bitMask
      value[at] = block.offset + (bit % 4 === 1 ? -block.height : block.height)
      coherence[at] = block.coherence ?? 0.9
      presence[at] = block.presence ?? 0.8
    }
  })
  return { value, coherence, presence, count: (first + blocks.length) * blockBits } as BitStream
}

const levelsOf = (stream: BitStream, block: number) => {
  const levels = { height: -7, offset: -7, coherence: -7, presence: -7 }
  estimateLevels(stream, block, levels)
  return levels
}

const same = { height: 2, offset: 0.5 }
const others = { height: 50, offset: 100 }

describe('levels of a block', () => {
  it('are half of what 1 gives over 0, and the middle', () => {
    const stream = streamOf(new Array(8).fill({ ...same, coherence: 0.75, presence: 0.625 }))
    expect(levelsOf(stream, 3)).toEqual({ ...same, coherence: 0.75, presence: 0.625 })
  })

  it('come from three blocks before it and four behind it', () => {
    const within = new Array(8).fill(same)
    expect(levelsOf(streamOf([others, ...within, others]), 4)).toMatchObject(same)
    expect(levelsOf(streamOf([others, ...within.slice(1), others]), 4).height).not.toBe(2)
    expect(levelsOf(streamOf([others, ...within.slice(1), others]), 3).height).not.toBe(2)
  })

  it('at the beginning and at the end from those that there are, wherever the ring begins anew', () => {
    const stream = streamOf(new Array(6).fill(same))
    for (const block of [0, 1, 5]) expect(levelsOf(stream, block)).toMatchObject(same)
    const last = bitCapacity / blockBits
    for (let first = last - 8; first <= last; first++)
      expect(levelsOf(streamOf(new Array(8).fill(same), first), first + 3)).toMatchObject(same)
  })

  it('leave out blocks with less than 0.7 of its coherence', () => {
    const hiss = (coherence: number) => ({ ...others, coherence })
    const with5 = (coherence: number) =>
      levelsOf(streamOf([...new Array(5).fill(hiss(coherence)), ...new Array(5).fill(same)]), 5)
    expect(with5(0.62)).toMatchObject(same)
    expect(with5(0.64).height).not.toBe(2)
  })

  it('are left as they are where there is only noise', () => {
    const noise = new Array(8).fill({ ...same, coherence: 0.25, presence: 0.125 })
    expect(levelsOf(streamOf(noise), 3)).toEqual({
      ...{ height: -7, offset: -7, coherence: 0.25, presence: 0.125 },
    })
  })

  // Above 0 all bits are 1s at first: the middle moves until it parts them.
  it('are found although the offset is more than the height', () => {
    expect(levelsOf(streamOf(new Array(8).fill({ height: 1, offset: 2.25 })), 3)).toMatchObject({
      ...{ height: 1, offset: 2.25 },
    })
    expect(levelsOf(streamOf(new Array(8).fill({ height: 1, offset: -1.25 })), 3)).toMatchObject({
      ...{ height: 1, offset: -1.25 },
    })
  })

  // Three of four bits are 1s: those of an offset beyond 2 heights or 3 are all on one side of half their mean.
  it.each([-20, -5, -3, -2, 2, 3, 5, 20])('are found with an offset of %i heights', (offset) => {
    expect(levelsOf(streamOf(new Array(8).fill({ height: 1, offset })), 3)).toMatchObject({
      ...{ height: 1, offset },
    })
  })

  it('of bits that are all alike have no height', () => {
    const alike = streamOf(new Array(8).fill({ height: 0, offset: 2 }))
    expect(levelsOf(alike, 3)).toMatchObject({ height: 0, offset: 2 })
  })

  it('have the coherence and the presence of the block itself', () => {
    const blocks = Array.from({ length: 8 }, (_, n) => ({
      ...{ ...same, coherence: 0.5 + n / 16, presence: n / 8 },
    }))
    expect(levelsOf(streamOf(blocks), 3)).toMatchObject({ coherence: 0.6875, presence: 0.375 })
    // Of each of the others it is the block's own that decides whether it counts: here every second one.
    const mixed = Array.from({ length: 8 }, (_, n) =>
      n % 2 === 1 ? { ...same, coherence: 0.75 } : { ...others, coherence: 0.5 },
    )
    expect(levelsOf(streamOf(mixed), 3)).toMatchObject(same)
  })

  it('count those with exactly 0.7 of its coherence', () => {
    // 0.7 times 0.625 is 0.4375 in binary, too.
    const blocks = [
      ...new Array(5).fill({ ...others, coherence: 0.4375 }),
      { ...same, coherence: 0.625 },
    ]
    expect(levelsOf(streamOf(blocks), 5).height).not.toBe(2)
  })

  it('silence has none', () => {
    expect(levelsOf(streamOf(new Array(8).fill({ height: 0, offset: 0 })), 3)).toMatchObject({
      ...{ height: 0, offset: 0 },
    })
  })
})

it.each([
  [0, 0],
  [159, 0],
  [160, 1],
  [191, 1],
  [192, 2],
])('of %i bits %i blocks have four behind them', (count, blocks) => {
  expect(blocksWithLevels({ count } as BitStream)).toBe(blocks)
})
