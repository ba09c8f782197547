import type { SignalQuality } from '../../dsp/modem/receivedFrame.js'

/** A frame that a radio heard, as the node sees it. */
export interface HeardFrame {
  /** address, control, PID and information octets; without FCS */
  readonly octets: Uint8Array
  /** the radio's number; also the KISS port nibble */
  readonly radio: number
  /** when its last sample arrived */
  readonly heardAtMs: number
  /** the same moment on the wall clock */
  readonly heardAtWallMs: number
  /** channel bits that repair changed */
  readonly repairedBits: number
  /** detector's name; 'kiss' for an external modem */
  readonly detector: string
  /** undefined where an external modem tells nothing */
  readonly quality?: SignalQuality | undefined
}

/** In the order in which a free channel serves them. */
export const priorities = [
  'identification',
  'acknowledgement',
  'answer',
  'mailbox',
  'client',
  'beacon',
] as const
export type Priority = (typeof priorities)[number]

export type Origin = 'node' | 'kiss' | 'operator'

/** The only way to a transmitter. */
export interface TransmitRequest {
  /** unique for the life of the process; comes back in the outcome */
  readonly id: string
  /** without FCS */
  readonly octets: Uint8Array
  readonly priority: Priority
  /** a frame not keyed by then (monotonicMs) is given up as expired */
  readonly notAfterMs: number
  readonly origin: Origin
}

/** What became of a request; every request gets exactly one `sent`, `refused` or `expired`, and any number of `held`. */
export type TransmitOutcome =
  | {
      readonly id: string
      readonly kind: 'sent'
      readonly atMs: number
      readonly airtimeMs: number
    }
  | {
      readonly id: string
      readonly kind: 'held'
      readonly atMs: number
      readonly reason: string
      readonly untilMs?: number | undefined
    }
  | {
      readonly id: string
      readonly kind: 'refused'
      readonly atMs: number
      readonly reason: string
    }
  | {
      readonly id: string
      readonly kind: 'expired'
      readonly atMs: number
      readonly reason: string
    }

export interface PortState {
  readonly receiving: boolean
  readonly channelBusy: boolean
  readonly keyed: boolean
  /** why nothing may be sent, in words; undefined when it may */
  readonly transmitBlockedBy?: string | undefined
  readonly queuedCount: number
  /** share of the duty window used, 0 to 1 */
  readonly dutyUsed: number
}

/** What the node sees of a radio: a sound-card radio, an external KISS modem and a simulated one are all Ports. */
export interface Port {
  readonly radio: number
  readonly name: string
  send(request: TransmitRequest): void
  onFrame(listener: (frame: HeardFrame) => void): void
  onOutcome(listener: (outcome: TransmitOutcome) => void): void
  state(): PortState
  /** Unkeys first, then lets go of the devices. */
  close(): Promise<void>
}
