import { z } from 'zod'
import { callWithSsid } from './callSign.js'

/** Repeating what others send, for stations that cannot hear each other. Off until the licensee turns it on. */
export const digipeaterSection = z.strictObject({
  /** repeats nothing until this is true */
  enabled: z.boolean().default(false),
  /** "fill-in" repeats WIDE1-1 and what names it; "wide" WIDEn-N as well */
  kind: z.enum(['fill-in', 'wide']).default('fill-in'),
  /** further names that it answers to, such as "VALLEY" */
  aliases: z.array(callWithSsid).max(8).default([]),
  /** largest n of WIDEn-N that is repeated */
  widestN: z.number().int().min(1).max(7).default(2),
  /** a larger n: "refuse" it, or "cut" it to widestN */
  beyond: z.enum(['refuse', 'cut']).default('refuse'),
  /** repeat also where its call stands further back in the path; those in front are taken off the path */
  outOfTurn: z.boolean().default(false),
  /** numbers of the radios that repeat what they hear; all that may send when absent @example [0] */
  radios: z.array(z.number().int().min(0).max(15)).max(16).optional(),
  /** repeat on one radio what another hears */
  between: z
    .array(
      z.strictObject({
        /** number of the radio that hears @example 1 */
        from: z.number().int().min(0).max(15),
        /** number of the radio that repeats @example 0 */
        to: z.number().int().min(0).max(15),
      }),
    )
    .max(32)
    .default([]),
  /** wait so long for other digipeaters, and leave to them what `othersEnough` of them repeat; 0 repeats at once, seconds */
  waitForOthersS: z.number().min(0).max(10).default(0),
  /** with waitForOthersS: copies by others that are enough; 1 saves most airtime and reaches fewer stations */
  othersEnough: z.number().int().min(1).max(5).default(2),
  /** stations that are known to be farther away are not repeated, kilometres; those of unknown place are @example 80 */
  withinKm: z.number().min(1).max(20_000).optional(),
  /** kinds of frames that are not repeated, such as "weather", "telemetry", "object" */
  skip: z.array(z.string().min(1).max(20)).max(20).default([]),
  /** frames of one station that are repeated in a minute */
  perStationPerMinute: z.number().int().min(1).max(60).default(6),
  /** frames of all stations that are repeated in a minute */
  perMinute: z.number().int().min(1).max(200).default(30),
  /** a frame that found no free channel by then is dropped, seconds */
  notAfterS: z.number().min(1).max(60).default(10),
})
