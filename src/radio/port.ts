import type { FrameCode } from '../../dsp/modem/detector.js'
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
  /** the forward error correction that it came with, and what that corrected */
  readonly code?: FrameCode | undefined
  /** detector's name; 'kiss' for an external modem */
  readonly detector: string
  /** undefined where an external modem tells nothing */
  readonly quality?: SignalQuality | undefined
}

/**
 * In the order in which a free channel serves them. 'answer' is what goes out for the first time, 'repeat' what was sent
 * before and is not acknowledged, 'refusal' a word to who gets no answer, 'digipeat' a frame of others that is repeated.
 */
export const priorities = [
  'identification',
  'acknowledgement',
  'emergency',
  'answer',
  'repeat',
  'refusal',
  'digipeat',
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
      /** why it may not have gone out all the same, in words: an external modem that shows no sign of life */
      readonly doubt?: string | undefined
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
      /** its transmission was cut after so long; absent where nothing of it went out */
      readonly airtimeMs?: number | undefined
      /** the operator dropped it: it is not to be tried again */
      readonly isFinal?: boolean | undefined
    }
  | {
      readonly id: string
      readonly kind: 'expired'
      readonly atMs: number
      readonly reason: string
    }

/** What became of a request in the end. */
export type FinalOutcome = Exclude<TransmitOutcome, { kind: 'held' }>

/** What a radio's limits leave for sending, as it is now. Times are monotonic. */
export interface Airtime {
  /** most that the key line may be on in the window that limits it most, ms; Infinity where nothing does */
  readonly allowanceMs: number
  /** time of the key line for these frames in one transmission, ms; of none: what a transmission takes besides its frames */
  keyedMs(frames: readonly Uint8Array[]): number
  /**
   * How long a transmission of this priority that begins now may be, ms; what is set aside for an identification, and for
   * acknowledgements and emergencies, does not count.
   */
  freeMs(priority: Priority): number
  /** The earliest moment at which freeMs is as much as that; Infinity where it never is. */
  earliestMs(neededMs: number, priority: Priority): number
  /**
   * What can be sent by a moment, ms of the key line, if it is sent as early as possible.
   * @param untilMs the latest moment that will be asked for
   */
  forecast(untilMs: number, priority: Priority): (atMs: number) => number
}

/** Somebody, or something, keeps a radio from sending. */
export interface Hold {
  readonly source: string
  readonly reason: string
  /** monotonic */
  readonly sinceMs: number
}

/** Why a radio that is held may not send. */
export const heldReason = ({ source, reason }: Pick<Hold, 'source' | 'reason'>): string =>
  `held by ${source}: ${reason}`

/** Why one may not that has used up its airtime. */
export const dutyReason = 'the duty limit is reached'

export interface PortState {
  readonly receiving: boolean
  readonly channelBusy: boolean
  readonly keyed: boolean
  /** why nothing may be sent, in words; undefined when it may */
  readonly transmitBlockedBy?: string | undefined
  /** why what is sent may not go out, in words */
  readonly doubt?: string | undefined
  readonly queuedCount: number
  /** share of the duty window used, 0 to 1 */
  readonly dutyUsed: number
  /** faults of the program that were caught at this radio: what a listener or a timer threw; absent for none */
  readonly faultCount?: number | undefined
  /** all that hold it, the first of them first; absent where a radio does not tell */
  readonly holds?: readonly Hold[] | undefined
}

/** What the node sees of a radio: a sound-card radio, an external KISS modem and a simulated one are all Ports. */
export interface Port {
  readonly radio: number
  readonly name: string
  send(request: TransmitRequest): void
  /** Takes a request back: it is refused, unless it is on the air or has ended already. */
  withdraw(id: string): void
  onFrame(listener: (frame: HeardFrame) => void): void
  onOutcome(listener: (outcome: TransmitOutcome) => void): void
  state(): PortState
  /** what may still be sent, as it is now */
  airtime(): Airtime
  /** Unkeys first, then lets go of the devices. */
  close(): Promise<void>
}
