// Where in the stream of decided tones may a frame stand? Flags and the edges of signals bound segments; those that hold no
// good frame yet, but are coherent enough to be a signal, are worth the second pass.
import { createHdlcDecoder, type HdlcSegment } from '../../framing/hdlcDecoder.js'
import { type CodedBlock, createCodedBlocks } from '../coded/codedBlocks.js'
import { isPlausibleRepair } from '../plausible.js'
import { type BlockEstimate, blockSymbols } from './phaseStep.js'
import { symbolCapacity, symbolMask } from './symbols.js'

/** A segment of symbols to go over again. Symbol numbers count from the start of the stream. */
export interface SymbolSegment {
  /** first symbol, some way into whatever stands before the opening flag */
  readonly firstSymbol: number
  /** last symbol, exclusive */
  readonly endSymbol: number
  /** first symbol after the opening flag */
  readonly contentFirstSymbol: number
  /** first symbol of the closing flag */
  readonly contentEndSymbol: number
  /** it begins with a signal, perhaps too late for all of the opening flag to be heard */
  readonly startsWithSignal: boolean
  /** phase steps of its middle */
  readonly markStep: number
  readonly spaceStep: number
}

export interface SearchEvents {
  /**
   * A frame whose FCS is right as decided; positions are symbol numbers.
   * @param block of a code in which it stands
   */
  frame(segment: HdlcSegment, block: CodedBlock | undefined): void
  /** @returns true when the second pass found a frame in the segment */
  retry(segment: SymbolSegment): boolean
  /** A block with check octets begins: what is damaged in it may still be decoded. */
  blockBegins(block: CodedBlock): void
  /**
   * A block is complete in which no frame was right as decided.
   * @returns true when its check octets led to one
   */
  block(block: CodedBlock, guess: BlockGuess): boolean
}

/** Phase steps in the middle of a block, and how far the tones are decided. */
export interface BlockGuess {
  readonly markStep: number
  readonly spaceStep: number
  readonly count: number
}

export interface SequenceSearch {
  /** decided tones by symbol, read at `k & symbolMask` */
  readonly tones: Uint8Array
  /**
   * Takes the next block's tones with what was estimated for it.
   * @param isNoise there is nothing in its tones, nor in those about it: they are not looked at
   */
  accept(tones: Uint8Array, estimate: BlockEstimate, isNoise?: boolean): void
}

/** Channel bits between flags: 17 octets at least. */
const contentMin = 136

/** What the search goes by: what noise has of coherence and presence, and what signals have, depends on how they are measured. */
export interface SearchLimits {
  /** channel bits between flags at most */
  readonly contentMax: number
  /** mean coherence from which on a segment is taken for a signal */
  readonly coherenceMin: number
  /**
   * Mean coherence of 8 dB Eb/N0. Of a weaker signal, whose frames are often damaged, one in 65536 of these has a right FCS by
   * chance: its content must make sense, or the second pass must confirm it.
   */
  readonly sureCoherence: number
  /** mean presence of two blocks from which on a signal is there, and below which it is gone */
  readonly presenceOn: number
  readonly presenceOff: number
}

/** 400 octets with inserted zeros; noise stays below a coherence of 0.42, 4.5 dB Eb/N0 gives 0.63; noise has a presence of 0.32. */
const toneLimits: SearchLimits = {
  contentMax: 3400,
  coherenceMin: 0.48,
  sureCoherence: 0.85,
  presenceOn: 0.5,
  presenceOff: 0.42,
}

/** A signal that comes back within this many blocks was only faded: 107 ms. */
const fadeBlocksMax = 4
/** Symbols before the opening flag and after the closing one that help to fit, if the signal is there. */
const leadSymbols = 40
const trailSymbols = 8
const flagSymbols = 8
/** Earlier flags that a segment may start from: a false flag inside a frame must not hide it. */
const openingsMax = 3

const blockCapacity = symbolCapacity / blockSymbols

export function createSequenceSearch(events: SearchEvents, limits = toneLimits): SequenceSearch {
  const { contentMax, coherenceMin, sureCoherence, presenceOn, presenceOff } = limits
  const tones = new Uint8Array(symbolCapacity)
  const coherence = new Float32Array(blockCapacity)
  const presence = new Float32Array(blockCapacity)
  const markStep = new Float32Array(blockCapacity)
  const spaceStep = new Float32Array(blockCapacity)
  let count = 0
  let previousTone = 0
  let ones = 0
  let signal = false
  let lastSignalBlock = Number.NEGATIVE_INFINITY
  /** ends (exclusive) of flags that a frame may have begun with */
  let openings: number[] = []
  /** the one of them that stands for the start of a signal, -1 for none */
  let signalOpening = -1
  const coded = createCodedBlocks(events)
  // Of the block at hand.
  const flagEnds: number[] = []
  const frameEnds: number[] = []
  const decoder = createHdlcDecoder({}, (segment) => {
    const octets = segment.octetsWithFcs.subarray(0, -2)
    const isSure = meanCoherence(segment.start, segment.end) >= sureCoherence
    if (!isSure && !isPlausibleRepair(octets)) return
    frameEnds.push(segment.end)
    events.frame(segment, coded.read(segment.start))
  })

  const meanCoherence = (from: number, to: number): number => meanOf(coherence, from, to)
  const stepsAt = (symbol: number): { markStep: number; spaceStep: number } => {
    const at = Math.floor(symbol / blockSymbols) % blockCapacity
    return { markStep: markStep[at]!, spaceStep: spaceStep[at]! }
  }

  const tryFrom = (opening: number, end: number, contentEnd: number): boolean => {
    const length = contentEnd - opening
    if (length < contentMin || length > contentMax) return false
    if (meanCoherence(opening, contentEnd) < coherenceMin) return false
    const segment = {
      firstSymbol: leadStart(opening, presence, presenceOff),
      endSymbol: end,
      contentFirstSymbol: opening,
      contentEndSymbol: contentEnd,
      startsWithSignal: opening === signalOpening,
      ...stepsAt((opening + contentEnd) / 2),
    }
    return !coded.defer(segment) && events.retry(segment)
  }

  /** A segment ends at a flag (end is past it) or with the signal. */
  const close = (end: number, contentEnd: number): void => {
    for (let at = openings.length - 1; at >= 0; at--)
      if (tryFrom(openings[at]!, end, contentEnd)) {
        openings = []
        return
      }
  }

  const onFlag = (end: number): void => {
    const last = openings.at(-1)
    const isFill = last !== undefined && end - last <= flagSymbols
    if (isFill || frameEnds.includes(end)) openings = []
    else close(Math.min(end + trailSymbols, count), end - flagSymbols)
    openings.push(end)
    if (openings.length > openingsMax) openings.shift()
  }

  const takeSymbol = (tone: number): void => {
    const bit = tone === previousTone ? 1 : 0
    previousTone = tone
    tones[count & symbolMask] = tone
    count++
    decoder.push(bit, count)
    coded.push(bit, count)
    if (bit === 1) ones++
    else {
      if (ones === 6) flagEnds.push(count)
      ones = 0
    }
  }

  /** As 32 equal tones would be taken: no flag, and an end to whatever was being collected. */
  const passNoise = (): void => {
    tones.fill(0, count & symbolMask, (count & symbolMask) + blockSymbols)
    count += blockSymbols
    previousTone = 0
    ones = blockSymbols
    decoder.reset()
  }

  return {
    tones,
    accept(block, estimate, isNoise = false) {
      const at = Math.floor(count / blockSymbols)
      coherence[at % blockCapacity] = estimate.coherence
      presence[at % blockCapacity] = estimate.presence
      markStep[at % blockCapacity] = estimate.markStep
      spaceStep[at % blockCapacity] = estimate.spaceStep
      const before = at > 0 ? presence[(at - 1) % blockCapacity]! : 0
      const level = (before + estimate.presence) / 2
      const isSignal = level >= (signal ? presenceOff : presenceOn)
      if (isSignal && !signal && at - lastSignalBlock > fadeBlocksMax) {
        signalOpening = Math.max(0, count - blockSymbols)
        openings = [signalOpening]
      }
      if (isSignal) lastSignalBlock = at
      if (isNoise) passNoise()
      else for (let symbol = 0; symbol < blockSymbols; symbol++) takeSymbol(block[symbol]!)
      for (const end of flagEnds) if (isSignal) onFlag(end)
      flagEnds.length = 0
      frameEnds.length = 0
      if (!isSignal && signal) close(count, count)
      coded.end(count, stepsAt)
      signal = isSignal
    },
  }
}

/** Mean of what is known block by block, over the blocks of some symbols. @param to exclusive */
function meanOf(values: Float32Array, from: number, to: number): number {
  const first = Math.floor(from / blockSymbols)
  const last = Math.floor((to - 1) / blockSymbols)
  let sum = 0
  for (let block = first; block <= last; block++) sum += values[block % blockCapacity]!
  return sum / (last - first + 1)
}

/** Up to leadSymbols further back than the opening flag, as long as the signal was there. */
function leadStart(opening: number, presence: Float32Array, presenceOff: number): number {
  const flagStart = opening - flagSymbols
  let start = flagStart
  while (start > flagStart - leadSymbols && start > 0) {
    if (presence[Math.floor((start - 1) / blockSymbols) % blockCapacity]! < presenceOff) break
    start--
  }
  return Math.max(0, start)
}
