// Blocks with check octets in the stream of decided symbols: where they begin and end, and what waits for their ends.
import { type Fx25Code, fx25BlockBits } from '../../fec/fx25.js'
import { createTagWatch } from '../../fec/tagWatch.js'
import type { SearchEvents, SymbolSegment } from '../sequence/search.js'

/** Where a block of FX.25 stands in the stream of symbols, its tag left out. */
export interface CodedBlock {
  readonly code: Fx25Code
  readonly firstSymbol: number
  /** exclusive */
  readonly endSymbol: number
}

/** Blocks that may be under way at once: a tag that only seems to be one must not hide a true one. */
const openMax = 3
/** Damaged segments that wait until the check octets around them have been looked at. */
const waitingMax = 8

export interface CodedBlocks {
  /**
   * @param bit data bit, after NRZI
   * @param count symbols so far, this one included
   */
  push(bit: number, count: number): void
  /** A frame was right as decided. @returns the block under way that it lies in */
  read(firstSymbol: number): CodedBlock | undefined
  /** @returns true for a damaged segment that waits for its block's check octets: the second pass may be wrong, they hardly */
  defer(segment: SymbolSegment): boolean
  /** Blocks that are complete are decoded; where that fails, what has waited is gone over again. */
  end(
    count: number,
    stepsAt: (symbol: number) => Pick<SymbolSegment, 'markStep' | 'spaceStep'>,
  ): void
}

export function createCodedBlocks(
  events: Pick<SearchEvents, 'block' | 'blockBegins' | 'retry'>,
): CodedBlocks {
  const watch = createTagWatch()
  const readPlainly = new WeakSet<CodedBlock>()
  let open: CodedBlock[] = []
  let waiting: SymbolSegment[] = []
  const around = (symbol: number): CodedBlock | undefined =>
    open.find((block) => symbol >= block.firstSymbol && symbol < block.endSymbol)
  return {
    push(bit, count) {
      const code = watch.push(bit)
      if (code === undefined || open.length >= openMax) return
      const block = { code, firstSymbol: count, endSymbol: count + fx25BlockBits(code) }
      open.push(block)
      events.blockBegins(block)
    },
    read(firstSymbol) {
      const block = around(firstSymbol)
      if (block !== undefined) readPlainly.add(block)
      return block
    },
    defer(segment) {
      if (around(segment.contentEndSymbol) === undefined) return false
      if (waiting.length < waitingMax) waiting.push(segment)
      return true
    },
    end(count, stepsAt) {
      if (open.length === 0) return
      const complete = open.filter((block) => block.endSymbol <= count)
      open = open.filter((block) => block.endSymbol > count)
      for (const block of complete) {
        const guess = { ...stepsAt((block.firstSymbol + block.endSymbol) / 2), count }
        const isRead = readPlainly.has(block) || events.block(block, guess)
        const within = waiting.filter((segment) => segment.contentEndSymbol < block.endSymbol)
        waiting = waiting.filter((segment) => !within.includes(segment))
        if (!isRead) within.some((segment) => events.retry(segment))
      }
    },
  }
}
