import { butterworth, filterBiquads } from './iir.js'

export interface FlatPortOptions {
  readonly sampleRateHz: number
  /** a coupling capacitor: two poles here; none unless given */
  readonly lowHz?: number
  /** the port's own low-pass, of four poles; none unless given */
  readonly highHz?: number
}

/**
 * Audio of a data port that is called flat: what the coupling capacitors of radio and card, and the low-pass behind the
 * discriminator, leave of it. Corners of 5 to 20 Hz and of 5 to 8 kHz are usual (common practice, no source).
 */
export function flatPort(audio: Float32Array, options: FlatPortOptions): Float32Array {
  const { sampleRateHz, lowHz, highHz } = options
  return filterBiquads(audio, [
    ...(lowHz === undefined ? [] : butterworth('highPass', 2, lowHz, sampleRateHz)),
    ...(highHz === undefined ? [] : butterworth('lowPass', 4, highHz, sampleRateHz)),
  ])
}
