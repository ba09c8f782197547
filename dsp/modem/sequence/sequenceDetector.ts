// The sequence detector: tones decided over whole sequences, 0.3 dB from a coherent receiver's limit and 4 to 5 dB better than
// symbol by symbol. First pass over everything (cheap), second pass with soft repair over what looks like a frame and is not.
//
//   correlations -> symbol timing -> symbols -> phase step -> trellis -> flags and frames      first pass, 0.3 s behind
//                                                                 \-> fit, decide again, list  second pass

import { createBlockDecoder } from '../coded/blockDecoder.js'
import { codedSink } from '../coded/codedSink.js'
import { createIl2pReader } from '../coded/il2pReader.js'
import type { CopyCombiner } from '../copies/combine.js'
import { createStretchCollector, type StretchCollector } from '../copies/stretch.js'
import type { Detector, DetectorSink } from '../detector.js'
import type { RepairLevel } from '../receivedFrame.js'
import type { FirstGuess } from '../secondPass/fit.js'
import { createFrameRepair } from '../secondPass/repair.js'
import type { SymbolListener } from './lineMetric.js'
import { type BlockEstimate, blockSymbols, createPhaseStepEstimator } from './phaseStep.js'
import { createSequenceSearch, type SymbolSegment } from './search.js'
import { createSymbolStream, type SymbolStream, symbolMask } from './symbols.js'
import { createToneCorrelations, type ToneCorrelations } from './toneCorrelations.js'
import { createSequenceTrellis } from './trellis.js'

const name = 'sequence'

export interface SequenceOptions {
  /** for tones that lie so many times 200 Hz higher */
  readonly shiftSteps?: number
  /** and space so many times 200 Hz higher still */
  readonly spreadSteps?: number
  readonly il2p?: boolean | undefined
  /** Once a block of symbols, 0.3 s behind. */
  readonly onBlock?: ((estimate: Readonly<BlockEstimate>) => void) | undefined
  /** takes what no frame was found in */
  readonly combiner?: CopyCombiner | undefined
}

/**
 * @param onSymbol once a symbol and 3 ms behind the audio, for carrier detect and the like
 */
export function createSequenceDetector(
  sink: DetectorSink,
  repair: RepairLevel,
  onSymbol?: SymbolListener,
  options: SequenceOptions = {},
): Detector {
  const correlations = createToneCorrelations(options.shiftSteps, options.spreadSteps)
  const symbols = createSymbolStream(correlations, onSymbol)
  const steps = createPhaseStepEstimator(symbols, options.spreadSteps)
  const trellis = createSequenceTrellis()
  const repairer = createFrameRepair(correlations, repair)
  const blockDecoder = createBlockDecoder(correlations)
  const tones = new Uint8Array(blockSymbols)
  let [estimate, before, blocks] = [emptyEstimate(), emptyEstimate(), 0]

  const sampleOf = (symbol: number): number => symbols.run.startSample[symbol & symbolMask]!

  const retry = (segment: SymbolSegment): boolean => {
    const { firstSymbol, contentFirstSymbol, contentEndSymbol } = segment
    const frames = repairer.attempt(
      firstGuess(symbols, search.tones, segment),
      contentFirstSymbol - firstSymbol - 8,
      contentEndSymbol - firstSymbol + 8,
    )
    for (const frame of frames) sink.frame({ ...frame, detector: name })
    if (frames.length > 0) stretches?.frame(contentFirstSymbol - 8, contentEndSymbol + 8)
    else
      sink.damaged({
        startSample: sampleOf(contentFirstSymbol),
        endSample: sampleOf(contentEndSymbol),
        votes: 3,
      })
    return frames.length > 0
  }

  const found = codedSink(sink, name, sampleOf)
  const stretches = options.combiner && combining(options.combiner, sink, symbols, correlations)
  const search = createSequenceSearch({
    frame: (segment, block) => {
      stretches?.frame(segment.start, segment.end)
      found.frame(segment, 0, block && 0)
    },
    retry,
    blockBegins: found.blockBegins,
    block(block, guess) {
      const decoded = blockDecoder.decode(block, { ...ring, ...guess })
      for (const frame of decoded?.frames ?? [])
        found.frame(frame, block.firstSymbol, decoded!.correctedOctets)
      if (decoded !== undefined) stretches?.frame(block.firstSymbol, block.endSymbol)
      return decoded !== undefined
    },
  })

  const ring = { run: symbols.run, mask: symbolMask, tones: search.tones }
  const il2p = options.il2p && createIl2pReader({ correlations, ...ring, sink, detector: name })

  const takeAll = (samples: Float32Array): void => {
    for (let at = 0; at < samples.length; at += chunkSamples)
      take(samples.subarray(at, at + chunkSamples))
  }

  const take = (samples: Float32Array): void => {
    correlations.append(samples)
    symbols.advance()
    steps.advance()
    while (steps.blocks > blocks) {
      steps.estimate(blocks, estimate)
      const isNoise = Math.max(estimate.coherence, before.coherence) < noiseCoherence
      if (isNoise) tones.fill(0)
      else trellis.step(symbols.run, blocks * blockSymbols, estimate, tones)
      if (blocks > 0) {
        search.accept(tones, before, isNoise)
        if (il2p) il2p.accept(tones, before)
        stretches?.block(before)
        options.onBlock?.(before)
      }
      ;[before, estimate] = [estimate, before]
      blocks++
    }
  }

  return {
    name,
    process: takeAll,
    finish: () => {
      takeAll(new Float32Array(lateSamplesMax))
      stretches?.finish()
    },
  }
}

const combining = (
  combiner: CopyCombiner,
  sink: DetectorSink,
  symbols: SymbolStream,
  correlations: ToneCorrelations,
): StretchCollector =>
  createStretchCollector(symbols, correlations, (stretch) => {
    for (const frame of combiner.take(stretch)) sink.frame({ ...frame, detector: 'copies' })
  })

const firstGuess = (
  { run }: SymbolStream,
  tones: Uint8Array,
  { firstSymbol, endSymbol, markStep, spaceStep, startsWithSignal }: SymbolSegment,
): FirstGuess => ({
  ...{ run, mask: symbolMask, tones, firstSymbol, symbolCount: endSymbol - firstSymbol },
  ...{ markStep, spaceStep, startsWithSignal },
})

/** One hop: what the parts remember between each other is meant for steps no longer than that. */
const chunkSamples = 320

/** Windows ahead of timing, phase step and trellis together: 0.41 s at most, and some to spare. finish() adds so much silence. */
export const lateSamplesMax = 6000

/** The trellis decides on the block before; noise leaves it out. Noise stays below 0.42 (found over hours of it), signals at 4.5 dB Eb/N0 above 0.6. */
const noiseCoherence = 0.44

const emptyEstimate = (): BlockEstimate => ({
  markStep: 0,
  spaceStep: 0,
  markAmplitude: 0,
  spaceAmplitude: 0,
  coherence: 0,
  presence: 0,
})
