// Keeps the correlators' detector from working on what it cannot read. The channel of most stations is quiet most of the time,
// and of a weak signal single symbols tell too little. Whether they tell enough shows early, in their contrast: how
// much of the power of both tones is in the stronger one. A signal of which half of the frames can be read symbol by symbol
// has more than 0.8 within any tenth of a second, tones 200 Hz off or 8 dB apart and jumps of phase included; noise seldom
// reaches 0.72. When the gate opens, the detector first goes through the audio just before, which holds the first flags.

import type { RestartableDetector } from '../detector.js'
import type { AudioHistory } from '../frontEnd/audioHistory.js'
import type { SymbolSigns } from '../sequence/lineMetric.js'

/** Mean contrast of some ten symbols (found by trial on noise, weak signals and strange ones). */
const openContrast = 0.77
/** The gate stays open for 0.1 s after that, for the fades within a frame. */
const holdSamples = 1200
/** And begins as long before: the mean takes a while to rise. */
const leadSamples = 1200

export interface SignalGate {
  /** Once a symbol. */
  note(signs: Pick<SymbolSigns, 'contrast'>): void
  /**
   * Lets the detector go on as far as it should.
   * @param position up to which the history may be used, and signs have been noted
   */
  follow(position: number): void
}

export function createSignalGate(detector: RestartableDetector, history: AudioHistory): SignalGate {
  let opened = false
  let openUntil = 0
  /** how far the detector has worked */
  let done = 0
  return {
    note({ contrast }) {
      if (contrast > openContrast) opened = true
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
