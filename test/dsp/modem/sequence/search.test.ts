// Which stretches of decided tones are worth what: bits and the estimates of their blocks are pushed, all that is told is kept.
import { describe, expect, it } from 'vitest'
import { fx25Codes } from '../../../../dsp/fec/fx25.js'
import { encodeHdlc } from '../../../../dsp/framing/hdlcEncoder.js'
import type { CodedBlock } from '../../../../dsp/modem/coded/codedBlocks.js'
import type { BlockEstimate } from '../../../../dsp/modem/sequence/phaseStep.js'
import {
  type BlockGuess,
  createSequenceSearch,
  type SearchLimits,
  type SymbolSegment,
} from '../../../../dsp/modem/sequence/search.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { hex, testFrame } from '../receiving.js'

const flag = [0, 1, 1, 1, 1, 1, 1, 0]
/** Alternating tones, which are no flag and no frame. */
const zeros = (count: number): number[] => new Array<number>(count).fill(0)
const octets = testFrame(3, seededRandom(4))
/** An address that repair would not believe. */
const oddOctets = octets.map((octet, at) => (at === 0 ? 0x02 : octet))
const frameBits = (frame: Uint8Array): number[] => [
  ...encodeHdlc({ frames: [frame], leadingFlags: 1, trailingFlags: 1 }),
]
const tag = [fx25Codes[3]!.tagLow, fx25Codes[3]!.tagHigh].flatMap((word) =>
  Array.from({ length: 32 }, (_, bit) => (word >>> bit) & 1),
)

/** Halves, quarters and so on, which single precision holds as they are. */
const limits: SearchLimits = {
  ...{ contentMax: 200, coherenceMin: 0.5, sureCoherence: 0.75, presenceOn: 0.5 },
  presenceOff: 0.375,
}

interface Case {
  readonly bits: readonly number[]
  /** of a block, where it is not 0.9 each */
  readonly estimateOf?: (block: number) => Partial<BlockEstimate>
  readonly limits?: SearchLimits | undefined
  readonly isNoise?: (block: number) => boolean
  readonly retry?: (segment: SymbolSegment) => boolean
  readonly block?: boolean
}

function searched({ bits, estimateOf, limits, isNoise, ...answers }: Case) {
  const retried: SymbolSegment[] = []
  const frames: { octets: string; start: number; end: number; block: CodedBlock | undefined }[] = []
  const begun: CodedBlock[] = []
  const decoded: { block: CodedBlock; guess: BlockGuess; retriedBefore: number }[] = []
  const search = createSequenceSearch(
    {
      frame: ({ octetsWithFcs, start, end }, block) => {
        frames.push({ octets: hex(octetsWithFcs.subarray(0, -2)), start, end, block })
      },
      retry: (segment) => {
        retried.push(segment)
        return answers.retry?.(segment) ?? false
      },
      blockBegins: (block) => {
        begun.push(block)
      },
      block: (block, guess) => {
        decoded.push({ block, guess, retriedBefore: retried.length })
        return answers.block ?? false
      },
    },
    limits,
  )
  let tone = 0
  const tones = [...bits, ...zeros((32 - (bits.length % 32)) % 32)].map((bit) => {
    if (bit === 0) tone = 1 - tone
    return tone
  })
  for (let block = 0; block < tones.length / 32; block++)
    search.accept(
      Uint8Array.from(tones.slice(32 * block, 32 * (block + 1))),
      {
        ...{ coherence: 0.9, presence: 0.9, markStep: block, spaceStep: -block },
        ...{ markAmplitude: 1, spaceAmplitude: 1, ...estimateOf?.(block) },
      },
      isNoise?.(block),
    )
  return { retried, from: retried.map((one) => one.contentFirstSymbol), frames, begun, decoded }
}

/** A segment whose opening flag ends at symbol 72, or later. */
const between = (content: number, lead: readonly number[] = [...zeros(64), ...flag]): number[] => [
  ...lead,
  ...zeros(content),
  ...flag,
]

describe('a segment between flags', () => {
  it('is gone over from its flag, then from where the signal began', () => {
    expect(searched({ bits: between(136) }).retried).toEqual([
      {
        ...{ firstSymbol: 24, endSymbol: 224, contentFirstSymbol: 72, contentEndSymbol: 208 },
        ...{ startsWithSignal: false, markStep: 4, spaceStep: -4 },
      },
      {
        ...{ firstSymbol: 0, endSymbol: 224, contentFirstSymbol: 0, contentEndSymbol: 208 },
        ...{ startsWithSignal: true, markStep: 3, spaceStep: -3 },
      },
    ])
  })

  it('is as long as 17 octets at least', () => {
    expect(searched({ bits: between(136), limits }).from).toEqual([72])
    expect(searched({ bits: between(135), limits }).from).toEqual([])
  })

  it.each([
    ['200 where that is the limit', 200, limits],
    ['3400 symbols', 3400, undefined],
  ])('is as long as %s at most', (_what, content, limits) => {
    expect(searched({ bits: between(content), limits }).from).toEqual([72])
    expect(searched({ bits: between(content + 1), limits }).from).toEqual([])
  })

  it('takes eight symbols behind its closing flag, as far as they are there', () => {
    expect(searched({ bits: between(140), limits }).retried[0]?.endSymbol).toBe(224)
    expect(searched({ bits: between(143), limits }).retried[0]?.endSymbol).toBe(224)
    expect(searched({ bits: between(145), limits }).retried[0]?.endSymbol).toBe(233)
  })

  it.each([
    [0.5, [72]],
    [0.484375, []],
  ])('of coherence %f', (coherence, from) => {
    expect(
      searched({ bits: between(140), limits, estimateOf: () => ({ coherence }) }).from,
    ).toEqual(from)
  })

  it.each([
    [0.485, [72, 0]],
    [0.475, []],
  ])('of coherence %f, with the limits that tones have', (coherence, from) => {
    expect(searched({ bits: between(140), estimateOf: () => ({ coherence }) }).from).toEqual(from)
  })

  it('its coherence is that of the blocks it lies in, and of no other', () => {
    const own = (block: number) => ({ coherence: block >= 3 && block < 8 ? 0.5 : 0.25 })
    const at = (first: number, content: number) =>
      searched({ bits: between(content, [...zeros(first - 8), ...flag]), limits, estimateOf: own })
    expect(at(96, 160).from).toEqual([96])
    expect(at(97, 159).from).toEqual([97])
    expect(at(95, 160).from).toEqual([])
    expect(at(97, 160).from).toEqual([])
  })
})

describe('where a segment may have begun', () => {
  it('flags one behind the other are filling: only the last one opens', () => {
    const fill = [...zeros(64), ...flag, ...flag]
    expect(searched({ bits: between(136, fill) }).from).toEqual([80])
    const shared = [...zeros(64), ...flag, ...flag.slice(1)]
    expect(searched({ bits: between(136, shared) }).from).toEqual([79])
  })

  it('flags that are further apart may be false: the last three are tried, the latest first', () => {
    const two = [...zeros(64), ...flag, 0, ...flag]
    expect(searched({ bits: between(136, two) }).from).toEqual([81, 72, 0])
    expect(searched({ bits: between(136, [...two, 0, ...flag]) }).from).toEqual([90, 81, 72])
  })

  it('what gave a frame is behind: the next segment begins with its closing flag', () => {
    const bits = [...between(136), ...zeros(140), ...flag]
    const isFirst = ({ contentFirstSymbol }: SymbolSegment) => contentFirstSymbol === 72
    expect(searched({ bits, retry: isFirst }).from).toEqual([72, 216])
    expect(searched({ bits }).from).toEqual([72, 0, 216, 72, 0])
  })

  it('a frame that was right is not gone over, and nothing before it', () => {
    const bits = [...zeros(64), ...frameBits(octets)]
    const end = bits.length
    const { frames, from } = searched({ bits: [...bits, ...zeros(140), ...flag] })
    expect(frames).toEqual([{ octets: hex(octets), start: 64, end, block: undefined }])
    expect(from).toEqual([end])
  })

  it.each([
    ['40 symbols', 64, 5, 24],
    ['less where there was no signal in a part of them', 64, 1, 64],
    ['none where there was no signal right before it', 96, 2, 96],
  ])('before its flag it takes %s', (_what, lead, quietBlock, firstSymbol) => {
    // The signal is only weak: it is there before and behind.
    const estimateOf = (block: number) => ({ presence: block === quietBlock ? 0.34375 : 0.9 })
    const bits = between(140, [...zeros(lead), ...flag])
    expect(searched({ bits, limits, estimateOf }).retried[0]?.firstSymbol).toBe(firstSymbol)
  })

  it('a presence at the limit is a signal', () => {
    const estimateOf = (block: number) => ({ presence: block === 1 ? 0.375 : 0.9 })
    expect(searched({ bits: between(140), limits, estimateOf }).retried[0]?.firstSymbol).toBe(24)
  })

  it('nothing is taken before the stream', () => {
    const estimateOf = () => ({ presence: 1 })
    const bits = between(140, [...zeros(12), ...flag])
    expect(searched({ bits, limits, estimateOf }).retried.map((one) => one.firstSymbol)).toEqual([
      0, 0,
    ])
  })
})

describe('a signal', () => {
  it('begins with the block that brings its mean presence to the limit', () => {
    const bits = between(140, [...zeros(16), ...flag])
    const all = (presence: number) =>
      searched({ bits, limits, estimateOf: () => ({ presence }) }).from
    // Of the first block the half counts: the flag in it is heard or not.
    expect(all(1)).toEqual([24, 0])
    expect(all(0.984375)).toEqual([0])
    expect(all(0.5)).toEqual([0])
    expect(all(0.484375)).toEqual([])
  })

  it('ends below a lower one, and with it what had no closing flag', () => {
    const bits = [...zeros(64), ...flag, ...zeros(250)]
    const later = (presence: number) =>
      searched({
        ...{ bits, limits: { ...limits, contentMax: 3400 } },
        estimateOf: (block) => ({ presence: block < 6 ? 1 : presence }),
      }).retried
    expect(later(0.375)).toEqual([])
    expect(later(0.359375)).toMatchObject([
      { contentFirstSymbol: 72, contentEndSymbol: 256, endSymbol: 256, startsWithSignal: false },
      { contentFirstSymbol: 0, contentEndSymbol: 256, endSymbol: 256, startsWithSignal: true },
    ])
  })

  it.each([
    ['four blocks: it only faded', 4, [72, 0, 72, 0]],
    ['five: another one begins', 5, [72, 0, 320]],
  ])('that is gone for %s', (_what, gone, from) => {
    const estimateOf = (block: number) => ({ presence: block >= 6 && block < 6 + gone ? 0 : 1 })
    const bits = [...zeros(64), ...flag, ...zeros(400), ...flag]
    const found = searched({ bits, limits: { ...limits, contentMax: 3400 }, estimateOf })
    expect(found.from).toEqual(from)
    expect(found.retried.at(-1)?.startsWithSignal).toBe(true)
  })

  it('flags outside of it open and close nothing', () => {
    const estimateOf = (block: number) => ({ presence: block < 6 ? 1 : 0 })
    const bits = [
      ...zeros(64),
      ...flag,
      ...zeros(80),
      ...zeros(80),
      ...flag,
      ...zeros(140),
      ...flag,
    ]
    expect(searched({ bits, limits, estimateOf }).from).toEqual([72])
  })
})

describe('a right check sequence', () => {
  const lead = zeros(64)
  it.each([
    ['odd content', oddOctets, 0.75, true],
    ['odd content', oddOctets, 0.734375, false],
    ['content that makes sense', octets, 0.734375, true],
    ['content that makes sense', octets, 0.25, true],
  ])('%s, coherence %f', (_what, frame, coherence, isFrame) => {
    const bits = [...lead, ...frameBits(frame)]
    const { frames, from } = searched({ bits, limits, estimateOf: () => ({ coherence }) })
    expect(frames.map((one) => one.octets)).toEqual(isFrame ? [hex(frame)] : [])
    expect(from).toEqual(isFrame ? [] : [72])
  })

  it.each([
    [0.86, 1],
    [0.84, 0],
  ])('odd content, coherence %f, with the limits that tones have', (coherence, count) => {
    const bits = [...lead, ...frameBits(oddOctets)]
    expect(searched({ bits, estimateOf: () => ({ coherence }) }).frames).toHaveLength(count)
  })
})

describe('noise', () => {
  it('is not looked at: it closes nothing, and no frame goes on behind it', () => {
    const bits = between(140)
    expect(searched({ bits, limits, isNoise: (block) => block === 6 }).from).toEqual([])
    const whole = [...zeros(64), ...frameBits(octets)]
    expect(searched({ bits: whole, isNoise: (block) => block === 4 }).frames).toEqual([])
    expect(searched({ bits: whole, isNoise: (block) => block === 0 }).frames).toHaveLength(1)
  })

  it('has no tones, where others stood a round of the ring before', () => {
    const search = createSequenceSearch({
      ...{ frame: () => undefined, retry: () => false },
      ...{ blockBegins: () => undefined, block: () => false },
    })
    const estimate = { coherence: 0, presence: 0, markStep: 0, spaceStep: 0 }
    const ones = new Uint8Array(32).fill(1)
    for (let block = 0; block <= 256; block++)
      search.accept(ones, { ...estimate, markAmplitude: 0, spaceAmplitude: 0 }, block === 256)
    expect([...search.tones.subarray(0, 64)]).toEqual([...zeros(32), ...ones])
  })
})

describe('a block with check octets', () => {
  // Its tag ends at 128, and 48 octets later it ends.
  const block = { code: fx25Codes[3]!, firstSymbol: 128, endSymbol: 512 }
  const lead = [...zeros(64), ...tag]

  it('has in it the frame that was right as decided, and needs no decoding', () => {
    const bits = [...lead, ...frameBits(octets)]
    const { frames, begun, decoded } = searched({ bits: [...bits, ...zeros(500)] })
    expect(begun).toEqual([block])
    expect(frames).toEqual([{ octets: hex(octets), start: 128, end: bits.length, block }])
    expect(decoded).toEqual([])
  })

  it.each([
    [true, []],
    [false, [136]],
  ])('is decoded before its damaged frame is gone over; that it helped: %s', (helped, from) => {
    const bits = [...lead, ...flag, ...zeros(150), ...flag, ...zeros(400)]
    const found = searched({ bits, limits, block: helped })
    const guess = { markStep: 10, spaceStep: -10, count: 512 }
    expect(found.decoded).toEqual([{ block, guess, retriedBefore: 0 }])
    expect(found.from.slice(0, 1)).toEqual(from)
  })
})
