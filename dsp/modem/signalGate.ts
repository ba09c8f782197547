// Keeps a detector from working on noise. The channel of most stations is quiet most of the time, and what there is to hear
// shows early: three symbols in a row of a modem's signal lie along one of the sequences that its phase can take (coherence,
// see carrierDetect.ts). Even a signal with tones 200 Hz off, or with jumps in its phase, does so to some degree, since tones
// often stand for several symbols. When the gate opens, the detector first goes through the audio just before, which holds
// the flags that opened it.
import type { AudioHistory } from './audioHistory.js'
import type { RestartableDetector } from './detector.js'

/** Mean coherence of some ten symbols. Noise keeps the gate open for 7 % of the time; tones 200 Hz off have 0.56 (found by trial). */
const openCoherence = 0.55
/** The gate stays open for 0.1 s after that, for the fades within a frame. */
const holdSamples = 1200
/** And begins as long before: coherence is known late, and that of a strange signal is slow to rise so far. */
const leadSamples = 1200

export interface SignalGate {
  noteCoherence(coherence: number): void
  /**
   * Lets the detector go on as far as it should.
   * @param position up to which the history may be used, and coherence has been noted
   */
  follow(position: number): void
}

export function createSignalGate(detector: RestartableDetector, history: AudioHistory): SignalGate {
  let opened = false
  let openUntil = 0
  /** how far the detector has worked */
  let done = 0
  return {
    noteCoherence(coherence) {
      if (coherence > openCoherence) opened = true
    },
    follow(position) {
      if (opened) openUntil = position + holdSamples
      opened = false
      if (position > openUntil) return
      const from = Math.max(0, position - leadSamples)
      if (from > done) {
        detector.restart(from)
        done = from
      }
      detector.process(history.slice(done, position))
      done = position
    },
  }
}
