import { fx25TagBits } from '../../fec/fx25.js'
import type { HdlcSegment } from '../../framing/hdlcDecoder.js'
import type { DetectorSink } from '../detector.js'
import { symbolSamples } from '../sequence/toneCorrelations.js'
import type { CodedBlock } from './codedBlocks.js'

export interface CodedSink {
  /**
   * @param segment whose places count symbols from firstSymbol on
   * @param correctedOctets of a frame that came with check octets
   */
  frame(segment: HdlcSegment, firstSymbol: number, correctedOctets?: number): void
  blockBegins(block: CodedBlock): void
}

/** What a search finds, as it is reported. */
export function codedSink(
  sink: DetectorSink,
  detector: string,
  sampleOf: (symbol: number) => number,
): CodedSink {
  return {
    frame(segment, firstSymbol, correctedOctets) {
      sink.frame({
        octets: segment.octetsWithFcs.slice(0, -2),
        startSample: sampleOf(firstSymbol + segment.start),
        endSample: sampleOf(firstSymbol + segment.end),
        precedingFlags: segment.precedingFlags,
        repairedBits: 0,
        detector,
        ...(correctedOctets === undefined ? {} : { code: { kind: 'FX.25', correctedOctets } }),
      })
    },
    blockBegins({ firstSymbol, endSymbol }) {
      const startSample = sampleOf(firstSymbol - fx25TagBits)
      const lengthSamples = (endSymbol - firstSymbol + fx25TagBits) * symbolSamples
      sink.expect?.({ startSample, endSample: startSample + lengthSamples })
    },
  }
}
