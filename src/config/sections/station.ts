import { z } from 'zod'
import { isTimeZone } from '../../runtime/localTime.js'

/** Call sign as AX.25 can carry it: 1 to 6 letters and digits, and an SSID from 0 to 15. */
const callSign = z
  .string()
  .regex(
    /^[A-Z0-9]{1,6}(-(1[0-5]|[0-9]))?$/,
    'expected a call sign in capitals with an optional SSID, such as "N0CALL-10"',
  )
  // SSID 0 is written as none in frames and messages.
  .transform((call) => call.replace(/-0$/, ''))

/** Who and where this station is. */
export const stationSection = z.strictObject({
  /** who we are on the air, with SSID */
  call: callSign.prefault('N0CALL'),
  /** name or call of the person who answers for the transmitter */
  controlOperator: z.string().max(60).default(''),
  /** where it is, north positive; without both the services know no place @example 45.2310 */
  latitudeDeg: z.number().min(-90).max(90).optional(),
  /** east positive @example -36.7420 */
  longitudeDeg: z.number().min(-180).max(180).optional(),
  /** above the sea */
  heightM: z.number().min(-430).max(9000).default(0),
  /** of distances in answers */
  units: z.enum(['km', 'miles']).default('km'),
  /** of answers to who asks in none that is known: en, de, fr, es, it, or that of services.languageFile; who asks in one is answered in it */
  language: z
    .string()
    .regex(/^[a-z]{2,3}$/, 'expected letters as ISO 639 has them, such as "de"')
    .default('en'),
  /** of local time with its daylight saving: an IANA name such as Europe/Lisbon; '' for utcOffsetMinutes */
  timeZone: z
    .string()
    .refine(
      (name) => name === '' || isTimeZone(name),
      'expected a zone of the IANA list, such as "Europe/Lisbon"; without one set utcOffsetMinutes',
    )
    .default(''),
  /** local time without a timeZone, minutes east of UTC */
  utcOffsetMinutes: z.number().int().min(-720).max(840).default(0),
})
