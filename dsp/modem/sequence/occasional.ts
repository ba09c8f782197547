// Sequence detectors for tones that lie elsewhere, which listen only while the channel holds something for them. They are made
// when it first does, and go on with what comes next: to make them anew each time took a seventh of all work.
import { type CarrierDetect, createCarrierDetect } from '../carrierDetect.js'
import type { Detector, DetectorSink } from '../detector.js'
import type { AudioHistory } from '../frontEnd/audioHistory.js'
import type { RepairLevel } from '../receivedFrame.js'
import type { SymbolSigns } from './lineMetric.js'
import { createSequenceDetector, lateSamplesMax, type SequenceOptions } from './sequenceDetector.js'

type Shift = Pick<SequenceOptions, 'shiftSteps' | 'spreadSteps'>

export interface OccasionalDetectors {
  /**
   * Takes in the audio up to a position.
   * @param isWanted the channel holds something for them
   */
  follow(position: number, isWanted: boolean): void
  finish(): void
  /** one of them hears a modem signal */
  readonly busy: boolean
}

export interface OccasionalOptions {
  readonly shifts: readonly Shift[]
  /** samples that they go back when they start, and that they go on for when they are no longer wanted */
  readonly leadSamples: number
  readonly holdSamples: number
}

export function createOccasionalDetectors(
  sink: DetectorSink,
  repair: RepairLevel,
  history: AudioHistory,
  { shifts, leadSamples, holdSamples }: OccasionalOptions,
): OccasionalDetectors {
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
    // What was damaged for tones that lie elsewhere is not counted: mostly it is no signal at all.
    damaged: () => undefined,
  }

  const make = (shift: Shift) => {
    const carrier = createCarrierDetect({ onAnySignal: false })
    const onSymbol = (signs: Readonly<SymbolSigns>): void => carrier.note(signs)
    return { detector: createSequenceDetector(moved, repair, onSymbol, shift), carrier }
  }

  const start = (from: number): void => {
    if (detectors.length === 0) detectors = shifts.map(make)
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
    follow(position, isWanted) {
      if (isWanted) runUntil = position + holdSamples
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
