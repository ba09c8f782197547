import type { LinkData } from './linkEvents.js'
import { type LinkParameters, t1DefaultMs, version20, version22 } from './linkParameters.js'

/** The states of figures C4.1 to C4.6. */
export type LinkStateName =
  | 'disconnected'
  | 'awaitingConnection'
  | 'awaitingRelease'
  | 'connected'
  | 'timerRecovery'
  | 'awaitingConnection22'

/** How long things take on a channel. */
export interface LinkTimes {
  /** what an answer is expected to take before one was measured: twice this is the first T1 */
  readonly roundTripMs: number
  /** T1 is no shorter and no longer than that */
  readonly t1MsMin: number
  readonly t1MsMax: number
  /** T3: so long without a word, and the peer is asked whether it is there */
  readonly t3Ms: number
}

export interface LinkOptions {
  readonly times: LinkTimes
  /** what a connection of either version goes by */
  readonly version20: LinkParameters
  readonly version22: LinkParameters
  /** I frames that may wait here; more are refused */
  readonly queueMax: number
}

/** One end of a connection. Plain data: what changes it is advanceLink. Times are monotonic. */
export interface LinkState {
  readonly options: LinkOptions
  name: LinkStateName
  parameters: LinkParameters
  /** whether a connection that the peer asks for is taken */
  mayConnect: boolean
  /** V(S), V(A), V(R) */
  sendNext: number
  acknowledged: number
  receiveNext: number
  /** RC: tries without an answer */
  tries: number
  /** answers to polls, one after the other, that acknowledged nothing of what waits for it */
  answersInVain: number
  layer3Initiated: boolean
  peerBusy: boolean
  ownBusy: boolean
  rejectOpen: boolean
  /** sequence numbers that were asked for with SREJ and have not come */
  readonly selectAsked: Set<number>
  acknowledgePending: boolean
  /** a disconnect that was asked for while the connection was not there yet */
  disconnectWanted: boolean
  /** SRT and T1V */
  roundTripMs: number
  t1Ms: number
  /** when T1 was started, or what it times had been sent; undefined while it stands still */
  t1SinceMs: number | undefined
  /** frames that were handed out have not been sent yet: T1 counts from when they have */
  unsent: boolean
  t3SinceMs: number | undefined
  /** I frames that may be unacknowledged now: at most k, fewer after losses */
  windowFrames: number
  /** not sent yet, in order */
  readonly queue: LinkData[]
  /** sent and not acknowledged, by N(S) */
  readonly sent: Map<number, LinkData>
  /** N(S) of those that are to be sent again, in order */
  readonly again: number[]
  /** received out of sequence, by N(S) */
  readonly kept: Map<number, LinkData>
  /** information octets that were acknowledged since the connection began */
  acknowledgedOctets: number
}

export const linkOptionsDefault: LinkOptions = {
  times: { roundTripMs: t1DefaultMs / 2, t1MsMin: 1000, t1MsMax: 60_000, t3Ms: 300_000 },
  version20,
  version22,
  queueMax: 64,
}

export function createLink(options: LinkOptions): LinkState {
  const { roundTripMs } = options.times
  return {
    options,
    name: 'disconnected',
    parameters: options.version20,
    mayConnect: false,
    ...{ sendNext: 0, acknowledged: 0, receiveNext: 0, tries: 0, answersInVain: 0 },
    ...{ layer3Initiated: false, peerBusy: false, ownBusy: false, rejectOpen: false },
    ...{ selectAsked: new Set(), acknowledgePending: false, disconnectWanted: false },
    ...{ roundTripMs, t1Ms: 2 * roundTripMs, t1SinceMs: undefined, unsent: false },
    ...{ t3SinceMs: undefined, windowFrames: options.version20.windowFramesMax },
    ...{ queue: [], sent: new Map(), again: [], kept: new Map(), acknowledgedOctets: 0 },
  }
}

/** How far `to` is ahead of `from`, counted modulo 8 or 128. */
export const ahead = ({ parameters }: LinkState, from: number, to: number): number =>
  (to - from + parameters.modulo) % parameters.modulo

/** The sequence number after this one. */
export const after = ({ parameters }: LinkState, number: number): number =>
  (number + 1) % parameters.modulo

/** When advanceLink wants an event of type 'time'; undefined when time alone changes nothing. */
export function linkWakesAtMs(link: LinkState): number | undefined {
  if (link.t1SinceMs !== undefined) return link.unsent ? undefined : link.t1SinceMs + link.t1Ms
  if (link.t3SinceMs === undefined) return undefined
  const { t3Ms } = link.options.times
  return link.t3SinceMs + (link.peerBusy ? Math.min(t3Ms, peerBusyMs) : t3Ms)
}

/** Whether a busy peer is ready again is asked that often; its word that it is may have been lost. */
const peerBusyMs = 30_000
