import type { BitRate, SendingCode } from '../../dsp/modem/modulateTransmission.js'
import type { Tone } from './radioPort.js'

/** Test tones that are no frames. */
export type SteadyTone = Exclude<Tone, 'flags'>

/** What one stretch of the key line carries. */
export type TransmissionContent =
  | {
      readonly kind: 'frames'
      /** each without FCS */
      readonly frames: readonly Uint8Array[]
      readonly preambleMs: number
      readonly tailMs: number
      /** forward error correction; none where absent */
      readonly code?: SendingCode | undefined
      /** on the air; 1200 where absent */
      readonly bitRate?: BitRate | undefined
      /** sent after the tail */
      readonly morse?: MorseText | undefined
    }
  | {
      readonly kind: 'tone'
      readonly tone: SteadyTone
      readonly durationMs: number
      /** silence in the middle */
      readonly gapMs?: number | undefined
    }

export interface MorseText {
  readonly text: string
  readonly wordsPerMinute: number
  readonly toneHz: number
}

/** How long the audio of a content lasts. */
export type DurationOf = (content: TransmissionContent) => number
