// When blocks with check octets begin, end and are decoded, and what waits for that: tags are pushed as bits, all else is told.
import { describe, expect, it } from 'vitest'
import { type Fx25Code, fx25Codes } from '../../../../dsp/fec/fx25.js'
import { type CodedBlock, createCodedBlocks } from '../../../../dsp/modem/coded/codedBlocks.js'
import type { BlockGuess, SymbolSegment } from '../../../../dsp/modem/sequence/search.js'

/** The shortest one: 48 octets, 384 bits. */
const short = fx25Codes[3]!
/** 32 data octets and 32 check octets: 512 bits. */
const longer = fx25Codes[7]!

function bench(answers: { block?: boolean; retry?: (segment: SymbolSegment) => boolean } = {}) {
  const begun: CodedBlock[] = []
  const decoded: { block: CodedBlock; guess: BlockGuess }[] = []
  const retried: number[] = []
  const blocks = createCodedBlocks({
    blockBegins: (block) => {
      begun.push(block)
    },
    block: (block, guess) => {
      decoded.push({ block, guess })
      return answers.block ?? false
    },
    retry: (segment) => {
      retried.push(segment.contentEndSymbol)
      return answers.retry?.(segment) ?? false
    },
  })
  let count = 0
  const quiet = (bits: number): void => {
    for (let bit = 0; bit < bits; bit++) blocks.push(0, ++count)
  }
  /** @param at symbols when the tag has ended */
  const tag = (code: Fx25Code, at: number): void => {
    quiet(at - 64 - count)
    for (const word of [code.tagLow, code.tagHigh])
      for (let bit = 0; bit < 32; bit++) blocks.push((word >>> bit) & 1, ++count)
  }
  const defer = (contentEndSymbol: number): boolean =>
    blocks.defer({
      ...{ firstSymbol: 0, endSymbol: contentEndSymbol + 8, contentFirstSymbol: 0 },
      ...{ contentEndSymbol, startsWithSignal: false, markStep: 0, spaceStep: 0 },
    })
  const end = (at: number): void =>
    blocks.end(at, (symbol) => ({ markStep: symbol, spaceStep: -symbol }))
  return { blocks, begun, decoded, retried, tag, defer, end }
}

describe('a block', () => {
  it('begins behind its tag and is as long as its code says', () => {
    const { begun, tag } = bench()
    tag(short, 100)
    expect(begun).toEqual([{ code: short, firstSymbol: 100, endSymbol: 100 + 384 }])
    tag(longer, 300)
    expect(begun[1]).toEqual({ code: longer, firstSymbol: 300, endSymbol: 300 + 512 })
  })

  it('is decoded once, when all of it is there, with the phase steps of its middle', () => {
    const { begun, decoded, tag, end } = bench()
    tag(short, 100)
    end(483)
    expect(decoded).toEqual([])
    end(484)
    expect(decoded).toEqual([
      { block: begun[0], guess: { markStep: 292, spaceStep: -292, count: 484 } },
    ])
    end(1000)
    expect(decoded).toHaveLength(1)
  })

  it('that is complete earlier is decoded earlier, although it began later', () => {
    const { decoded, tag, end } = bench()
    tag(longer, 100)
    tag(short, 200)
    end(584)
    expect(decoded.map(({ block }) => block.code)).toEqual([short])
    end(612)
    expect(decoded.map(({ block }) => block.code)).toEqual([short, longer])
  })

  it('three are under way at once, and the next one when one has ended', () => {
    const { begun, tag, end } = bench()
    for (const at of [100, 170, 240, 310]) tag(short, at)
    expect(begun.map(({ firstSymbol }) => firstSymbol)).toEqual([100, 170, 240])
    end(484)
    tag(short, 500)
    expect(begun.at(-1)?.firstSymbol).toBe(500)
  })
})

describe('a frame that was right as decided', () => {
  it.each([
    [99, false],
    [100, true],
    [483, true],
    [484, false],
  ])('from symbol %i on is in the block: %s, which then needs no decoding', (symbol, isWithin) => {
    const { blocks, begun, decoded, tag, end } = bench()
    tag(short, 100)
    expect(blocks.read(symbol)).toBe(isWithin ? begun[0] : undefined)
    end(484)
    expect(decoded).toHaveLength(isWithin ? 0 : 1)
    expect(blocks.read(symbol)).toBeUndefined()
  })

  it('spares what waits in the block', () => {
    const { blocks, retried, tag, defer, end } = bench()
    tag(short, 100)
    expect(defer(300)).toBe(true)
    blocks.read(110)
    end(484)
    expect(retried).toEqual([])
  })
})

describe('a damaged segment', () => {
  it.each([
    [99, false],
    [100, true],
    [483, true],
    [484, false],
  ])('that ends at %i waits: %s', (symbol, waits) => {
    const { tag, defer, retried, end } = bench()
    expect(defer(symbol)).toBe(false)
    tag(short, 100)
    expect(defer(symbol)).toBe(waits)
    end(484)
    expect(retried).toEqual(waits ? [symbol] : [])
  })

  it('is left alone where the check octets led to a frame, and not kept', () => {
    const answers = { block: true }
    const { tag, defer, retried, end } = bench(answers)
    tag(short, 100)
    defer(300)
    end(484)
    expect(retried).toEqual([])
    answers.block = false
    tag(short, 600)
    end(984)
    expect(retried).toEqual([])
  })

  it('else it is gone over again, each until one of them gives a frame', () => {
    const { tag, defer, retried, end } = bench({
      retry: ({ contentEndSymbol }) => contentEndSymbol === 250,
    })
    tag(short, 100)
    for (const symbol of [200, 250, 300]) defer(symbol)
    end(484)
    expect(retried).toEqual([200, 250])
    end(1000)
    expect(retried).toHaveLength(2)
  })

  it('waits for its own block', () => {
    const { tag, defer, retried, end } = bench()
    tag(short, 100)
    tag(longer, 300)
    defer(483)
    defer(484)
    defer(600)
    end(484)
    expect(retried).toEqual([483])
    end(812)
    expect(retried).toEqual([483, 484, 600])
  })

  it('eight wait, and those beyond are dropped', () => {
    const { tag, defer, retried, end } = bench()
    tag(short, 100)
    const all = Array.from({ length: 10 }, (_, n) => 200 + n)
    expect(all.map(defer)).toEqual(all.map(() => true))
    end(484)
    expect(retried).toEqual(all.slice(0, 8))
  })
})
