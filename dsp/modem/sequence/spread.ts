// Senders whose space tone lies 200 Hz higher, at 2400 Hz, which is twice the mark tone and easily made from it. Correlators for
// 2200 Hz lose 0.4 dB of it and hear the mark tone as well, and symbol timing goes by phases that are 60 degrees off. So one more
// sequence detector listens for such tones, but only while the estimates of the first show them.
import type { DetectorSink } from '../detector.js'
import type { AudioHistory } from '../frontEnd/audioHistory.js'
import type { RepairLevel } from '../receivedFrame.js'
import { createOccasionalDetectors } from './occasional.js'
import type { BlockEstimate } from './phaseStep.js'

/** Phase step of space beyond that of mark, radians: 1.05 for 200 Hz. */
const spreadMin = 0.6
/** Found by trial: in ladders of signals in tune, of FM with its hiss and of fading nothing was taken for such a sender. */
const presenceMin = 0.5
const coherenceMin = 0.62
/** Blocks of 27 ms in a row that show it. */
const stayingBlocks = 3
const options = {
  shifts: [{ spreadSteps: 1 }],
  /** Estimates come 0.4 s late, and seldom at once in weak signals: 1.25 s back, and 0.8 s on. */
  leadSamples: 15_000,
  holdSamples: 10_000,
}

export interface SpreadDetector {
  /** Once a block. */
  note(estimate: Pick<BlockEstimate, 'coherence' | 'presence' | 'markStep' | 'spaceStep'>): void
  /** @param position up to which the history may be used */
  follow(position: number): void
  finish(): void
}

export function createSpreadDetector(
  sink: DetectorSink,
  repair: RepairLevel,
  history: AudioHistory,
): SpreadDetector {
  const detectors = createOccasionalDetectors(sink, repair, history, options)
  let staying = 0
  return {
    note({ coherence, presence, markStep, spaceStep }) {
      const isSpread =
        coherence > coherenceMin && presence > presenceMin && spaceStep - markStep > spreadMin
      staying = isSpread ? staying + 1 : 0
    },
    follow: (position) => detectors.follow(position, staying >= stayingBlocks),
    finish: detectors.finish,
  }
}
