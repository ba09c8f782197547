// Signals whose tones lie 100 to 300 Hz off: single sideband off its frequency, a recording at another speed. The sequence
// detector follows offsets to 100 Hz or so; beyond, a symbol turns the phase by more than it can tell from the other tone.
// So two more of them listen 200 Hz higher and lower, but only while the channel holds something out of tune. The coherence of
// three symbols (lineMetric.ts) shows it: averaged over 48 symbols noise has 0.44 (99.9 % below 0.48), signals 200 Hz off 0.48
// at 4.5 dB Eb/N0 to 0.58 at 18 dB, and signals in tune more than 0.62 (medians over 10 frames each).
import type { DetectorSink } from '../detector.js'
import type { AudioHistory } from '../frontEnd/audioHistory.js'
import type { RepairLevel } from '../receivedFrame.js'
import type { SymbolSigns } from './lineMetric.js'
import { createOccasionalDetectors } from './occasional.js'
import type { BlockEstimate } from './phaseStep.js'
import { createSpreadDetector } from './spread.js'

/** Mean coherence of a signal out of tune, from and to. */
const coherenceMin = 0.475
const coherenceMax = 0.61
/** Symbols that the mean looks back on. */
const lookBackSymbols = 48
/** It must stay so for 67 ms: where a signal in tune ends, it falls through these values in less. */
const stayingSymbols = 80
const options = {
  shifts: [{ shiftSteps: -1 }, { shiftSteps: 1 }],
  /** The detectors start 0.25 s before what showed the signal, for its first flags, and go on for 0.15 s after it. */
  leadSamples: 3000,
  holdSamples: 1800,
}

export interface OffTuneDetectors {
  /** Once a symbol. */
  note(signs: Pick<SymbolSigns, 'coherence'>): void
  /** Once a block of symbols, as the sequence detector in tune estimates them. */
  noteBlock(estimate: Readonly<BlockEstimate>): void
  /** @param position up to which the history may be used, and signs have been noted */
  follow(position: number): void
  finish(): void
  /** a modem signal is heard off its frequency */
  readonly busy: boolean
}

export function createOffTuneDetectors(
  sink: DetectorSink,
  repair: RepairLevel,
  history: AudioHistory,
): OffTuneDetectors {
  const detectors = createOccasionalDetectors(sink, repair, history, options)
  const spread = createSpreadDetector(sink, repair, history)
  const mean = new Float64Array(1)
  /** symbols since the mean is that of a signal out of tune */
  let staying = 0

  return {
    note({ coherence }) {
      mean[0]! += (coherence - mean[0]!) / lookBackSymbols
      staying = mean[0]! > coherenceMin && mean[0]! < coherenceMax ? staying + 1 : 0
    },
    noteBlock: spread.note,
    follow(position) {
      detectors.follow(position, staying >= stayingSymbols)
      spread.follow(position)
    },
    finish() {
      detectors.finish()
      spread.finish()
    },
    get busy() {
      return detectors.busy
    },
  }
}
