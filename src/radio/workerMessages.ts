import type { ReceiverOptions } from '../../dsp/modem/receivedFrame.js'
import type { PcmLayout } from '../audio/audioDevice.js'
import type { HoldInputOptions } from '../ptt/holdInput.js'
import type { PttOptions } from '../ptt/pttOutput.js'
import type { ControllerPast } from './controllerTypes.js'
import type { HeardFrame, PortState, TransmitOutcome, TransmitRequest } from './port.js'
import type { RadioEvent } from './radioEvent.js'
import type { ChannelAccess, ToneRequest } from './radioPort.js'
import type { RadioReport, WatchWish } from './radioWatch.js'
import type { TransmitOptions } from './transmitOptions.js'

/** Everything that a radio's worker thread needs to know; plain data. */
export interface RadioSetup {
  readonly radio: number
  readonly name: string
  readonly audio: PcmLayout & {
    /** 'alsa:DEVICE' and so on */
    readonly input: string
    /** without one the radio only receives */
    readonly output?: string | undefined
    readonly channel: number
  }
  readonly receiver: Omit<ReceiverOptions, 'sampleRateHz'>
  readonly transmit: TransmitOptions
  readonly levelDbfs: number
  readonly toneBalanceDb: number
  readonly ptt: PttOptions
  readonly holdFile: string
  readonly holdInput: HoldInputOptions
}

/** What the thread is started with. */
export interface WorkerStart {
  readonly setup: RadioSetup
  readonly past?: ControllerPast | undefined
}

export type ToWorker =
  | { readonly type: 'send'; readonly request: TransmitRequest }
  | { readonly type: 'tone'; readonly request: ToneRequest }
  | { readonly type: 'withdraw'; readonly id: string }
  | { readonly type: 'hold'; readonly source: string; readonly reason: string }
  | { readonly type: 'release'; readonly source: string }
  | { readonly type: 'access'; readonly change: Partial<ChannelAccess> }
  /** after a 'cut': it may key again */
  | { readonly type: 'mayKey' }
  /** somebody looks, or wants something else; nobody looks any more */
  | { readonly type: 'watch'; readonly wish: WatchWish | undefined }
  | { readonly type: 'close' }

export type FromWorker =
  | { readonly type: 'frame'; readonly frame: HeardFrame }
  | { readonly type: 'outcome'; readonly outcome: TransmitOutcome }
  | { readonly type: 'event'; readonly event: RadioEvent }
  /** whenever it has changed, and every two seconds as a sign of life */
  | { readonly type: 'state'; readonly state: PortState; readonly access: ChannelAccess }
  /** the line was cut by its guard, and this thread keys nothing until it is told 'mayKey' */
  | { readonly type: 'cut' }
  /** after each transmission: what a new worker must know if this one dies */
  | { readonly type: 'past'; readonly past: ControllerPast }
  /** in their order */
  | { readonly type: 'reports'; readonly reports: readonly RadioReport[] }
