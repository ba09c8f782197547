// Signals whose tones lie 100 to 300 Hz off: single sideband off its frequency, a recording at another speed. The sequence
// detector follows offsets to 100 Hz or so; beyond, a symbol turns the phase by more than it can tell from the other tone.
// So two more of them listen 200 Hz higher and lower, but only while the channel holds something out of tune. They are made when
// it first does, and go on with what comes next: to make them anew each time took a seventh of all work. The coherence of
// three symbols (lineMetric.ts) shows it: averaged over 48 symbols noise has 0.44 (99.9 % below 0.48), signals 200 Hz off 0.48
// at 4.5 dB Eb/N0 to 0.58 at 18 dB, and signals in tune more than 0.62 (medians over 10 frames each).
import { type CarrierDetect, createCarrierDetect } from '../carrierDetect.js'
import type { Detector, DetectorSink } from '../detector.js'
import type { AudioHistory } from '../frontEnd/audioHistory.js'
import type { RepairLevel } from '../receivedFrame.js'
import type { SymbolSigns } from './lineMetric.js'
import { createSequenceDetector, lateSamplesMax } from './sequenceDetector.js'

/** Mean coherence of a signal out of tune, from and to. */
const coherenceMin = 0.475
const coherenceMax = 0.61
/** Symbols that the mean looks back on. */
const lookBackSymbols = 48
/** It must stay so for 67 ms: where a signal in tune ends, it falls through these values in less. */
const stayingSymbols = 80
/** The detectors start 0.25 s before what showed the signal, for its first flags, and go on for 0.15 s after it. */
const leadSamples = 3000
const holdSamples = 1800

export interface OffTuneDetectors {
  /** Once a symbol. */
  note(signs: Pick<SymbolSigns, 'coherence'>): void
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
  const mean = new Float64Array(1)
  /** symbols since the mean is that of a signal out of tune */
  let staying = 0
  /** made when first wanted */
  let detectors: readonly { detector: Detector; carrier: CarrierDetect }[] = []
  let isRunning = false
  /** how far the detectors have worked */
  let done = 0
  let runUntil = 0
  /** of what the detectors have seen in all, and where that stands in the stream */
  let seen = 0
  let offset = 0

  const moved: DetectorSink = {
    frame: (frame) =>
      sink.frame({
        ...frame,
        startSample: frame.startSample + offset,
        endSample: frame.endSample + offset,
      }),
    // What was damaged off its frequency is not counted: mostly it is no signal at all.
    damaged: () => undefined,
  }

  const make = (shiftSteps: number) => {
    const carrier = createCarrierDetect({ onAnySignal: false })
    const onSymbol = (signs: Readonly<SymbolSigns>): void => carrier.note(signs)
    return { detector: createSequenceDetector(moved, repair, onSymbol, { shiftSteps }), carrier }
  }

  const start = (from: number): void => {
    if (detectors.length === 0) detectors = [make(-1), make(1)]
    isRunning = true
    done = from
    offset = from - seen
  }

  const stop = (): void => {
    if (!isRunning) return
    isRunning = false
    for (const { detector } of detectors) detector.finish?.()
    seen += lateSamplesMax
  }

  return {
    note({ coherence }) {
      mean[0]! += (coherence - mean[0]!) / lookBackSymbols
      staying = mean[0]! > coherenceMin && mean[0]! < coherenceMax ? staying + 1 : 0
    },
    follow(position) {
      if (staying >= stayingSymbols) runUntil = position + holdSamples
      if (position > runUntil) {
        stop()
        return
      }
      if (!isRunning) start(Math.max(0, position - leadSamples))
      const audio = history.slice(done, position)
      for (const { detector } of detectors) detector.process(audio)
      seen += audio.length
      done = position
    },
    finish: stop,
    get busy() {
      return isRunning && detectors.some(({ carrier }) => carrier.busy)
    },
  }
}
