// A block of FX.25 out of decided tones, and out of the audio where too many of them are wrong.
import { describe, expect, it } from 'vitest'
import {
  encodeFx25,
  type Fx25CheckOctetCount,
  fx25Codes,
  fx25TagBits,
} from '../../../../dsp/fec/fx25.js'
import { encodeHdlc } from '../../../../dsp/framing/hdlcEncoder.js'
import { encodeNrzi } from '../../../../dsp/framing/nrzi.js'
import { createBlockDecoder } from '../../../../dsp/modem/coded/blockDecoder.js'
import { createSecondLook } from '../../../../dsp/modem/coded/secondLook.js'
import { modulateLevels } from '../../../../dsp/modem/modulator.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { addNoise } from '../../../channel/addNoise.js'
import { heardSymbols, ringSymbols } from '../heardSymbols.js'
import { hex, testFrame } from '../receiving.js'

const frame = testFrame(40, seededRandom(7))

interface Case {
  readonly checkOctets?: Fx25CheckOctetCount
  readonly flags?: number
  /** symbol of the block's first bit that the stream starts with */
  readonly from?: number
  readonly noiseRms?: number
  readonly seed?: number
  /** more of it behind the block */
  readonly behindRms?: number
  readonly isSilent?: boolean
  readonly misread?: (tones: Uint8Array, firstSymbol: number) => void
}

function blockOf({
  checkOctets = 16,
  flags = 10,
  noiseRms = 0.001,
  seed = 11,
  behindRms = 0,
  isSilent,
  misread,
}: Case) {
  const bits = encodeFx25(frame, checkOctets)!
  const fill = encodeHdlc({ frames: [], leadingFlags: 10, trailingFlags: 10 })
  const lead = fill.subarray(0, 8 * flags)
  const levels = encodeNrzi(Uint8Array.from([...lead, ...bits, ...fill]))
  const firstSymbol = lead.length + fx25TagBits
  const audio = modulateLevels(levels, { sampleRateHz: 12_000, peakLevel: isSilent ? 0 : 0.3 })
  const behind = 10 * (lead.length + bits.length)
  const heard = addNoise(audio, noiseRms, seededRandom(seed))
  heard.set(addNoise(heard.subarray(behind), behindRms, seededRandom(seed)), behind)
  const symbols = heardSymbols(heard)
  const tones = new Uint8Array(ringSymbols)
  tones.set(levels)
  misread?.(tones, firstSymbol)
  const code = fx25Codes.find(
    (one) => 8 * (one.dataOctetCount + one.checkOctetCount) === bits.length - fx25TagBits,
  )!
  const guess = {
    ...{ run: symbols.run, mask: symbols.mask, tones, markStep: 0, spaceStep: 0 },
    count: levels.length - 1,
  }
  const block = { code, firstSymbol, endSymbol: lead.length + bits.length }
  return { ...symbols, block, guess, levels }
}

function decode(one: Case) {
  const { correlations, block, guess } = blockOf(one)
  const decoded = createBlockDecoder(correlations).decode(block, guess)
  return (
    decoded && {
      frames: decoded.frames.map(({ octetsWithFcs }) => hex(octetsWithFcs.slice(0, -2))),
      correctedOctets: decoded.correctedOctets,
    }
  )
}

/** A tone the other way round is two wrong bits, one after the other: in the middle of an octet they stay in it. */
const wrongOctets =
  (count: number) =>
  (tones: Uint8Array, firstSymbol: number): void => {
    for (let octet = 0; octet < count; octet++) tones[firstSymbol + 8 * octet + 3]! ^= 1
  }

describe('as decided', () => {
  it.each([
    [0, 0],
    [1, 1],
    [8, 8],
  ])('%i wrong octets are corrected', (count, correctedOctets) => {
    expect(decode({ isSilent: true, misread: wrongOctets(count) })).toEqual({
      ...{ frames: [hex(frame)], correctedOctets },
    })
  })

  it('the first bit is told by the tone before', () => {
    const misread = (tones: Uint8Array, firstSymbol: number): void => {
      tones[firstSymbol - 1]! ^= 1
    }
    expect(decode({ isSilent: true, misread })?.correctedOctets).toBe(1)
  })

  it('more than half of the check octets are beyond correction, if there is nothing to look at', () => {
    expect(decode({ isSilent: true, misread: wrongOctets(9) })).toBeUndefined()
  })
})

describe('looked at again', () => {
  it.each([0, 1, 10])(
    '45 misread octets of 48 behind %i flags are as they stand in the audio',
    (flags) => {
      expect(decode({ flags, misread: wrongOctets(45) })).toEqual({
        ...{ frames: [hex(frame)], correctedOctets: 0 },
      })
    },
  )
})

describe('in noise', () => {
  // Eight octets of 48 are corrected by themselves. Where more is wrong, those that the second look knows to be uncertain are
  // left out, or taken the other way round. Seeds for which that is enough.
  it.each([
    [0.315, 3],
    [0.315, 9],
    [0.315, 12],
    // Here the likeliest errors lie in the tag, which is no part of the block.
    [0.32, 12],
    [0.33, 4],
    [0.33, 6],
    [0.33, 9],
  ])('of %f RMS, seed %i, the least certain octets are left out', (noiseRms, seed) => {
    const one = { noiseRms, seed, misread: wrongOctets(12) }
    const { correlations, block, guess, levels } = blockOf(one)
    const look = createSecondLook(correlations)(block.firstSymbol, block.endSymbol, guess)!
    const sent = levels.subarray(block.firstSymbol - 1, block.endSymbol)
    const wrong = new Set<number>()
    for (let k = 1; k < sent.length; k++)
      if ((sent[k] === sent[k - 1]) !== (look.tones[k] === look.tones[k - 1]))
        wrong.add((k - 1) >> 3)
    expect(wrong.size).toBeGreaterThan(8)
    expect(decode(one)?.frames).toEqual([hex(frame)])
  })

  // Seeds for which it is enough there, too.
  it.each([
    [0.315, 3],
    [0.315, 9],
    [0.315, 12],
    [0.33, 6],
    [0.33, 9],
  ])('of %f RMS, seed %i, much more of it behind the block changes nothing', (noiseRms, seed) => {
    const one = { noiseRms, seed, behindRms: 0.5, misread: wrongOctets(12) }
    expect(decode(one)?.frames).toEqual([hex(frame)])
  })
})

describe('the second look', () => {
  it('gives the tones from the symbol before on, and likely errors in order of their cost', () => {
    const one = { noiseRms: 0.35, misread: wrongOctets(3) }
    const { correlations, block, guess, levels } = blockOf(one)
    const look = createSecondLook(correlations)(block.firstSymbol, block.endSymbol, guess)!
    const sent = levels.subarray(block.firstSymbol - 1, block.endSymbol)
    const wrong = [...sent.keys()].filter((k) => look.tones[k] !== sent[k])
    const doubtful = new Set(look.departures.flatMap(({ symbols }) => symbols))
    expect(wrong.length).toBeGreaterThan(0)
    expect(wrong.length).toBeLessThan(60)
    expect(wrong.filter((k) => !doubtful.has(k))).toEqual([])
    const costs = look.departures.map(({ cost }) => cost)
    expect(costs).toEqual(costs.toSorted((a, b) => a - b))
    expect(costs.every((cost) => cost >= 0 && cost <= 15)).toBe(true)
    expect(costs.at(-1)).toBeGreaterThan(10)
    // What the first pass decided stays as it is.
    expect(guess.tones[block.firstSymbol + 3]).toBe(1 - levels[block.firstSymbol + 3]!)
  })

  it('is not taken where there is no signal, or more of it than can be fitted', () => {
    const silent = blockOf({ isSilent: true })
    const { firstSymbol, endSymbol } = silent.block
    expect(
      createSecondLook(silent.correlations)(firstSymbol, endSymbol, silent.guess),
    ).toBeUndefined()
    const random = seededRandom(2)
    const levels = Uint8Array.from({ length: 3700 }, () => Math.floor(2 * random()))
    const audio = modulateLevels(levels, { sampleRateHz: 12_000, peakLevel: 0.3 })
    const { correlations, run, mask } = heardSymbols(audio)
    const tones = new Uint8Array(ringSymbols)
    tones.set(levels)
    const guess = { run, mask, tones, markStep: 0, spaceStep: 0, count: 3700 }
    // 24 symbols before and 8 behind help to fit: 3,500 in all.
    const look = createSecondLook(correlations)(100, 3568, guess)!
    expect([...look.tones.subarray(1, 3469)]).toEqual([...levels.subarray(100, 3568)])
    expect(createSecondLook(correlations)(100, 3569, guess)).toBeUndefined()
  })
})
