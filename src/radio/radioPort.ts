import type { Cancel } from '../runtime/clock.js'
import type { Port } from './port.js'
import type { RadioEvent } from './radioEvent.js'
import type { DutyReport, RadioReport, WatchWish } from './radioWatch.js'

/** How a radio shares its channel. Every value can be changed while it runs. */
export interface ChannelAccess {
  /** from key down to the first frame, filled with flags (TXDELAY) */
  readonly keyDelayMs: number
  /** from the last frame to key up, filled with flags (TXtail) */
  readonly tailMs: number
  /** between two draws (SlotTime) */
  readonly slotTimeMs: number
  /** P, 0 to 255: a draw from 0 to 255 that is at most P sends */
  readonly persistence: number
  /** do not listen first */
  readonly fullDuplex: boolean
}

export const tones = ['mark', 'space', 'alternating', 'two-tone', 'flags'] as const
/**
 * For setting levels: one tone, alternating symbols, or both tones at once; for finding the key delay: flags, and a frame
 * that says how long they lasted.
 */
export type Tone = (typeof tones)[number]

/** A test tone; it passes the same queue, channel access and limits as frames do, and is followed by an identification. */
export interface ToneRequest {
  readonly id: string
  readonly tone: Tone
  readonly durationMs: number
  /** silence in the middle of it, for finding how long a radio stays keyed by itself; of a steady tone only */
  readonly gapMs?: number | undefined
  /** as in TransmitRequest */
  readonly notAfterMs: number
}

/** A radio of our own: a Port whose transmitter is ours to control. */
export interface RadioPort extends Port {
  /** its outcome comes as that of any other request */
  sendTone(request: ToneRequest): void
  /**
   * Stops all sending, at once, until release() of the same source: a running transmission is cut.
   * @param source who holds, such as 'operator'; each holds for itself
   */
  hold(source: string, reason: string): void
  release(source: string): void
  access(): ChannelAccess
  setAccess(change: Partial<ChannelAccess>): void
  onEvent(listener: (event: RadioEvent) => void): void
  /** what its limits count */
  duty(): DutyReport
  /**
   * Looks at it from now on: what is told only to those who look costs nothing while nobody does.
   * @param wish undefined: hears what is told to others, and asks for nothing itself
   */
  watch(wish: WatchWish | undefined, listener: (report: RadioReport) => void): Cancel
}
