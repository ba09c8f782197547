// Whether two stretches are copies of one frame: leads of +1 and -1, so that likeness is a count.
import { describe, expect, it } from 'vitest'
import { align } from '../../../../dsp/modem/copies/align.js'
import type { Stretch } from '../../../../dsp/modem/copies/stretch.js'
import { seededRandom } from '../../../../src/runtime/random.js'

const random = seededRandom(12)
const signs = (count: number): number[] =>
  Array.from({ length: count }, () => (random() < 0.5 ? -1 : 1))

const stretch = (leads: readonly number[], startSample = 0): Stretch =>
  ({
    count: leads.length,
    startSample,
    symbolLength: 10,
    leads: Float32Array.from(leads),
  }) as Stretch

/** The same with that many of them the other way round, from a place on. */
const withFlips = (leads: readonly number[], flips: number, from = 0, every = 1): number[] =>
  leads.map((lead, k) =>
    k >= from && k < from + flips * every && (k - from) % every === 0 ? -lead : lead,
  )

/** Heard a minute and a half later. */
const later = 1_000_000

describe('two transmissions', () => {
  const frame = signs(400)

  it.each([
    ['the same place', 0],
    ['later', -120],
    ['earlier', 120],
  ])('are aligned where the frame stands in %s', (_where, shift) => {
    const other = shift > 0 ? [...signs(shift), ...frame] : [...frame.slice(-shift), ...signs(30)]
    expect(align(stretch(frame), stretch(other, later))).toMatchObject({ shift, inverted: false })
    expect(align(stretch(frame, later), stretch(other))).toMatchObject({ shift, inverted: false })
  })

  it('may have their tones the other way round', () => {
    const inverted = frame.map((lead) => -lead)
    expect(align(stretch(frame), stretch(inverted, later))).toEqual({
      ...{ shift: 0, inverted: true, likeness: 1 },
    })
  })

  it.each([
    [150, true],
    [149, false],
  ])('%i symbols in common: %s', (common, isAligned) => {
    const before = align(stretch(frame), stretch(frame.slice(400 - common), later))
    expect(before).toEqual(
      isAligned ? { shift: common - 400, inverted: false, likeness: 1 } : undefined,
    )
    const other = [...signs(250), ...frame.slice(0, common)]
    const behind = align(stretch(frame), stretch(other, later))
    expect(behind).toEqual(isAligned ? { shift: 250, inverted: false, likeness: 1 } : undefined)
  })

  // 400 - 2 x 116 of 400 are 0.42.
  it.each([
    [116, { shift: 0, inverted: false, likeness: 0.42 }],
    [117, undefined],
  ])('%i of 400 symbols that differ', (flips, expected) => {
    expect(align(stretch(frame), stretch(withFlips(frame, flips, 0, 3), later))).toEqual(expected)
  })

  // Of 196 symbols 84 are six standard deviations of chance; of 150 they are 64 / 12.2.
  it.each([
    [196, 56, true],
    [150, 43, false],
  ])('%i symbols of which %i differ are more than chance: %s', (count, flips, isMore) => {
    const short = frame.slice(0, count)
    const found = align(stretch(short), stretch(withFlips(short, flips, 0, 3), later))
    expect(found !== undefined).toBe(isMore)
  })

  it('of places that fit equally the first is taken', () => {
    const steady = new Array<number>(300).fill(1)
    expect(align(stretch(steady.slice(100)), stretch(steady, later))?.shift).toBe(0)
  })

  it('what is too short for a frame has no place', () => {
    expect(align(stretch(frame.slice(0, 100)), stretch(frame, later))).toBeUndefined()
    expect(align(stretch(frame), stretch(frame.slice(0, 100), later))).toBeUndefined()
  })
})

describe('a long stretch', () => {
  const long = signs(1000)

  it('is looked for by its 512 middle symbols', () => {
    // From 244 to 755 they are the same, and beside them everything is the other way round.
    const middle = long.map((lead, k) => (k >= 244 && k < 756 ? lead : -lead))
    expect(align(stretch(long), stretch(middle, later))).toBeUndefined()
    const half = long.map((lead, k) => (k >= 244 && k < 756 ? lead : k % 2 === 0 ? lead : -lead))
    expect(align(stretch(long), stretch(half, later))).toEqual({
      ...{ shift: 0, inverted: false, likeness: 0.512 },
    })
    const ends = long.map((lead, k) => (k < 244 || k >= 756 || k % 2 === 0 ? lead : -lead))
    expect(align(stretch(long), stretch(ends, later))).toBeUndefined()
  })

  it('its likeness is that of all that both have', () => {
    expect(align(stretch(long), stretch(long.slice(300), later))).toEqual({
      ...{ shift: -300, inverted: false, likeness: 1 },
    })
    expect(align(stretch(long), stretch([...signs(77), ...long.slice(0, 600)], later))).toEqual({
      ...{ shift: 77, inverted: false, likeness: 1 },
    })
  })
})

describe('one transmission, heard by two receivers', () => {
  const frame = signs(400)

  // 80 of 400 are four standard deviations, and likeness enough.
  it.each([
    [160, true],
    [161, false],
  ])('may have %i of 400 symbols that differ: %s', (flips, isAligned) => {
    const other = stretch(withFlips(frame, flips, 0, 2))
    expect(align(stretch(frame), other)).toEqual(
      isAligned ? { shift: 0, inverted: false, likeness: 0.2 } : undefined,
    )
  })

  // The middle 512 differ in 156: 200 more are alike, 8.8 standard deviations. Beside them 269 and 270 of 488.
  it.each([
    [269, true],
    [270, false],
  ])(
    'of a long one %i beside its middle may differ, so that 0.15 of it is alike: %s',
    (flips, isAligned) => {
      const long = signs(1000)
      let beside = 0
      const other = long.map((lead, k) => {
        if (k >= 244 && k < 756) return k < 400 ? -lead : lead
        return beside++ < flips ? -lead : lead
      })
      expect(align(stretch(long), stretch(other)) !== undefined).toBe(isAligned)
    },
  )

  it.each([
    [6, true],
    [7, false],
  ])('%i symbols apart from each other: %s', (apart, isAligned) => {
    const late = align(stretch(frame), stretch([...signs(apart), ...frame]))
    expect(late?.shift).toBe(isAligned ? apart : undefined)
    const early = align(stretch(frame), stretch(frame.slice(apart)))
    expect(early?.shift).toBe(isAligned ? -apart : undefined)
    // The second receiver's stretch begins 50 symbols earlier.
    const longer = stretch([...signs(50 + apart), ...frame], 10_000)
    expect(align(stretch(frame, 10_500), longer)?.shift).toBe(isAligned ? 50 + apart : undefined)
  })

  it.each([
    ['a symbol before', 1990, undefined],
    ['right behind', 2000, 0],
  ])('what begins %s the other one ends', (_where, startSample, shift) => {
    const short = frame.slice(0, 200)
    // Those that overlap are looked for where they stand, all others everywhere.
    expect(align(stretch(short, startSample), stretch(short))?.shift).toBe(shift)
    expect(align(stretch(short), stretch(short, startSample))?.shift).toBe(shift)
  })
})
