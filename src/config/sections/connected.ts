import { z } from 'zod'

/** Connected mode (AX.25 2.2): stations connect and get the services in long form, and letters. Off until the licensee turns it on. */
export const connectedSection = z.strictObject({
  /** takes no connection until this is true */
  enabled: z.boolean().default(false),
  /** SSID that is connected to; that of station.call when absent @example 5 */
  ssid: z.number().int().min(0).max(15).optional(),
  /** numbers of the radios that take connections; all that may send when absent @example [0] */
  radios: z.array(z.number().int().min(0).max(15)).max(16).optional(),
  /** stations that may be connected at a time; one more is refused */
  stationsMax: z.number().int().min(1).max(10).default(4),
  /** what a station reads first, besides the call and how to go on */
  welcome: z.string().max(200).default(''),
  /** take connections of version 2.2 (modulo 128), too; else modulo 8 only */
  version22: z.boolean().default(true),
  /** frames that are sent before an answer; fewer leave more of the channel to others */
  windowFrames: z.number().int().min(1).max(7).default(4),
  /** octets of text in a frame; shorter ones get through where long ones do not */
  frameOctets: z.number().int().min(16).max(256).default(128),
  /** tries without an answer until a connection is given up */
  tries: z.number().int().min(2).max(20).default(10),
  /** a station that says and takes nothing for so long is disconnected, minutes */
  idleMinutes: z.number().min(1).max(120).default(10),
  /** no connection lasts longer, minutes */
  sessionMinutes: z.number().min(5).max(1440).default(60),
  /** a frame that found no free channel by then is dropped, and asked for again, seconds */
  notAfterS: z.number().min(10).max(300).default(60),
  /** longest letter, octets */
  letterOctets: z.number().int().min(100).max(50_000).default(10_000),
  /** letters that may wait of one sender, and for one receiver */
  lettersPerStation: z.number().int().min(1).max(100).default(10),
  /** letters that may wait in all */
  lettersTotal: z.number().int().min(1).max(1000).default(200),
})
