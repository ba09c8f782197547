import type { Random } from '../runtime/random.js'
import type { KeyedSpan } from './dutyLedger.js'
import type { Hold, TransmitOutcome, TransmitRequest } from './port.js'
import type { RadioEventKind } from './radioEvent.js'
import type { ChannelAccess, ToneRequest } from './radioPort.js'
import type { DurationOf, TransmissionContent } from './transmissionContent.js'
import type { TransmitOptions } from './transmitOptions.js'

export interface ControllerOptions extends TransmitOptions {
  readonly random: Random
  readonly durationMs: DurationOf
  /** most that the key line is on longer than the audio lasts: the devices' start and stop */
  readonly keyOverheadMs: number
  /** most that passes between the decision to unkey and the line's being off */
  readonly unkeyMarginMs: number
  /** what has begun to be sent ends by itself, whatever is decided meanwhile: whoever sends it takes nothing back */
  readonly irrevocable?: boolean | undefined
  /** why nothing can be sent at all, in words; undefined when it can */
  readonly refusal?: string | undefined
  /** what an earlier life of the radio left: limits and identification go on */
  readonly past?: ControllerPast | undefined
}

export interface ControllerPast {
  readonly spans: readonly KeyedSpan[]
  readonly owedSinceMs?: number | undefined
}

/** What happens to a controller. */
export type ControllerInput =
  | { readonly kind: 'request'; readonly request: TransmitRequest }
  | { readonly kind: 'tone'; readonly request: ToneRequest }
  /** a request that is not on the air is not wanted any more */
  | { readonly kind: 'withdraw'; readonly id: string }
  | { readonly kind: 'channel'; readonly busy: boolean }
  | { readonly kind: 'hold'; readonly source: string; readonly reason: string }
  | { readonly kind: 'release'; readonly source: string }
  | { readonly kind: 'access'; readonly change: Partial<ChannelAccess> }
  /** the line has come on, at a moment that the output names */
  | { readonly kind: 'keyed'; readonly atMs: number }
  /** what was to be keyed could not be, and nothing of it went out; the source holds from now on */
  | { readonly kind: 'unsent'; readonly source: string; readonly reason: string }
  | { readonly kind: 'audioEnded' }
  /** the line has gone off; with a reason when nobody asked for it, and with who holds from then on, if somebody does */
  | {
      readonly kind: 'unkeyed'
      readonly atMs: number
      readonly reason?: string | undefined
      readonly heldBy?: string | undefined
    }
  /** the running transmission, if any, must end now */
  | { readonly kind: 'cut'; readonly reason: string }
  /** the radio is being closed: what waits and what comes is refused; only an identification that is owed still goes out */
  | { readonly kind: 'end'; readonly reason: string }
  /** nothing but time has passed */
  | { readonly kind: 'time' }

/** What a controller wants done, in this order. */
export type ControllerAction =
  | { readonly kind: 'key'; readonly content: TransmissionContent }
  /** the line is on: the audio of the content named by the last `key` */
  | { readonly kind: 'play' }
  /** cut: the audio has not ended; silence it after the line is off */
  | { readonly kind: 'unkey'; readonly cut: boolean }
  | { readonly kind: 'outcome'; readonly outcome: TransmitOutcome }
  | { readonly kind: 'event'; readonly event: ControllerEvent }

export interface ControllerEvent {
  readonly kind: RadioEventKind
  readonly atMs: number
  readonly reason: string
  readonly requestId?: string | undefined
  readonly untilMs?: number | undefined
  readonly owedSinceMs?: number | undefined
}

export interface ControllerState {
  /** nothing is on the air and no identification is owed */
  readonly idle: boolean
  readonly channelBusy: boolean
  readonly keyed: boolean
  readonly transmitBlockedBy?: string | undefined
  readonly queuedCount: number
  readonly dutyUsed: number
  readonly holds: readonly Hold[]
}
