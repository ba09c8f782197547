import type { Control } from '../control.js'

/** A frame of a connection, without its addresses. */
export interface SessionFrame {
  readonly control: Control
  /** false for a response, and for a supervisory frame of a station that marks neither */
  readonly isCommand: boolean
  /** I and UI frames only */
  readonly pid?: number
  readonly payload: Uint8Array
}

/** What an I or UI frame carries. */
export interface LinkData {
  readonly pid: number
  readonly payload: Uint8Array
}

/** What a data link is told. The names after the dash are those of the standard. */
export type LinkEvent =
  /** DL-CONNECT request; version 2.2 begins with SABME */
  | { readonly type: 'connect'; readonly version: '2.0' | '2.2' }
  /** DL-DISCONNECT request */
  | { readonly type: 'disconnect' }
  /** DL-DATA request */
  | { readonly type: 'data'; readonly data: LinkData }
  /** DL-UNIT-DATA request */
  | { readonly type: 'unitData'; readonly data: LinkData }
  /** DL-FLOW-OFF and DL-FLOW-ON requests */
  | { readonly type: 'flow'; readonly on: boolean }
  /** LM-SEIZE confirm: now an acknowledgement that is owed may go out */
  | { readonly type: 'seized' }
  | { readonly type: 'frame'; readonly frame: SessionFrame }
  /** a frame that breaks the rules: its control field, information where none belongs, its length */
  | { readonly type: 'badFrame'; readonly fault: 'control' | 'information' | 'length' }
  /** all frames that were handed out have been sent, or never will be: what is timed counts from here */
  | { readonly type: 'sent' }
  /** time has passed; while others are heard, nobody can answer */
  | { readonly type: 'time'; readonly channelBusy: boolean }

/** Letters of DL-ERROR indications. @see AX.25 v2.2, appendix C5 */
export type LinkErrorCode =
  | 'A'
  | 'C'
  | 'D'
  | 'E'
  | 'F'
  | 'G'
  | 'I'
  | 'J'
  | 'K'
  | 'L'
  | 'M'
  | 'N'
  | 'O'
  | 'Q'
  | 'T'
  | 'U'

/** What a data link wants done. */
export type LinkAction =
  | { readonly type: 'send'; readonly frame: SessionFrame }
  /** LM-SEIZE request: an acknowledgement is owed; 'seized' when the channel is free for it */
  | { readonly type: 'seize' }
  | { readonly type: 'connected'; readonly by: 'peer' | 'us' }
  | { readonly type: 'disconnected'; readonly by: 'peer' | 'us' | 'silence' }
  | { readonly type: 'received'; readonly data: LinkData }
  | { readonly type: 'unitReceived'; readonly data: LinkData }
  /** MDL-NEGOTIATE request: parameters may be told by XID now */
  | { readonly type: 'negotiate' }
  /** what had been handed over and was not acknowledged is gone, or may be */
  | { readonly type: 'error'; readonly code: LinkErrorCode }
