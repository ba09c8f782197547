import type { BitRate, SendingCode } from '../../dsp/modem/modulateTransmission.js'
import type { DutyLimit } from './dutyLedger.js'
import type { ChannelAccess } from './radioPort.js'

/** What a station may send and how; cli/ makes it from the configuration. */
export interface TransmitOptions {
  /** false refuses everything */
  readonly enabled: boolean
  /** our own call sign with SSID, such as 'N0CALL-10'; placeholders are refused */
  readonly call: string
  readonly access: ChannelAccess
  /** forward error correction that frames go out with; none where absent */
  readonly code?: SendingCode | undefined
  /** on the air; 1200 where absent */
  readonly bitRate?: BitRate | undefined
  /** longest time that the transmitter may be on */
  readonly timeOutMs: number
  /**
   * how long the transmitter stays on after its line, or the audio that keys it, has ended: the hang of a radio that keys
   * itself, a roger beep; 0 where absent
   */
  readonly hangMs?: number | undefined
  /** from key down to the transmitter's being on: until then nobody can hear that we have begun; 0 where absent */
  readonly attackMs?: number | undefined
  readonly dutyLimits: readonly DutyLimit[]
  /** share of what the tightest duty limit allows that only acknowledgements and emergencies may use; 0 where absent */
  readonly reserveShare?: number | undefined
  readonly identification: IdentificationOptions
  /** requests that may wait */
  readonly queueMax: number
}

export interface IdentificationOptions {
  /** longest time from a transmission without our call to the call's going out; at most 600 000 */
  readonly intervalMs: number
  /** silence of ours after which a communication counts as ended */
  readonly quietMs: number
  /** destination field of an identification frame */
  readonly destination: string
  readonly morse?: { readonly wordsPerMinute: number; readonly toneHz: number } | undefined
}
