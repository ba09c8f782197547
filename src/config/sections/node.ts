import { z } from 'zod'

const callOrAlias = z
  .string()
  .regex(/^[A-Z0-9][A-Z0-9-]{0,8}$/, 'expected 1 to 9 capitals, digits and hyphens, such as "INFO"')

const digipeater = z
  .string()
  .regex(
    /^[A-Z0-9]{1,6}(-(1[0-5]|[0-9]))?$/,
    'expected a digipeater such as "WIDE1-1" or "N0CALL-1"',
  )

const timeOfDay = z
  .string()
  .regex(/^(([01]\d|2[0-3]):[0-5]\d)?$/, 'expected hours and minutes such as "22:00"')
  .default('')

/** A name that is answered like the node's own call. */
const aliasSection = z.strictObject({
  /** 1 to 9 capitals, digits and hyphens @example "INFO" */
  name: callOrAlias,
  /** keywords that it offers; all when empty. With one, every text sent to the name is a question to it */
  services: z.array(z.string().min(1)).default([]),
})

/** What the node does with what it hears. */
export const nodeSection = z.strictObject({
  /** answer questions; false: only listen, and send what beacons and KISS clients want sent */
  answer: z.boolean().default(true),
  /** Tactical names, besides station.call. */
  alias: z.array(aliasSection).max(20).default([]),
  /** groups whose messages are kept for `bulletins`, such as ["RESCUE"]; never answered */
  groups: z
    .array(z.string().regex(/^[A-Z0-9-]{3,9}$/))
    .max(20)
    .default([]),
  /** stations that are never answered: calls with SSID, or without for every SSID */
  ignored: z.array(callOrAlias).max(1000).default([]),
  /** waits before each repetition of a message that is not acknowledged, in seconds */
  retryGapsS: z.array(z.number().min(2).max(600)).max(10).default([8, 16, 32, 64]),
  /** each wait varies by this share either way */
  retryJitter: z.number().min(0).max(0.5).default(0.2),
  /** messages to one station that may be unacknowledged at a time */
  window: z.number().int().min(1).max(4).default(1),
  /** an answer is given up after so long, in seconds */
  answerNotAfterS: z.number().min(30).max(3600).default(600),
  /** where more than half of what can be sent in that time is promised, cut an answer to its first message */
  shortWhenBusy: z.boolean().default(false),
  /** how answers go to a station heard through digipeaters */
  replyPath: z.enum(['reverse', 'configured']).default('reverse'),
  /** the path for "configured", and where the way cannot be reversed */
  configuredPath: z.array(digipeater).max(8).default(['WIDE1-1']),
  /** the same text without a number counts as a copy for so long, in seconds */
  copyWindowS: z.number().min(5).max(300).default(28),
  /** the same text with the same number counts as a repetition until so long after it was last heard, in seconds */
  numberedCopyWindowS: z.number().min(60).max(86_400).default(900),
  /** a copy that came another way is acknowledged again only after this, in seconds */
  acknowledgeAgainS: z.number().min(5).max(300).default(30),
  /** stretch of time of the limits below, in minutes */
  limitWindowMinutes: z.number().min(1).max(120).default(10),
  /** questions of one station in that time */
  questionsPerStation: z.number().int().min(1).max(1000).default(12),
  /** Hours of each day, local time, in which only calls for help and the control operator are answered, and nothing is told unasked. */
  quiet: z
    .strictObject({
      /** begin, such as "22:00"; none when empty */
      from: timeOfDay,
      /** end, such as "06:00" */
      to: timeOfDay,
    })
    .refine(({ from, to }) => (from === '') === (to === '') && (from === '' || from !== to), {
      path: ['to'],
      message:
        'expected a begin and another time as its end, such as from = "22:00" and to = "06:00"; or neither',
    })
    .prefault({}),
  /** Messages that people leave for others. */
  mailbox: z
    .strictObject({
      /** tell the receiver that something waits, or hand it over as soon as the receiver is heard */
      deliver: z.enum(['on-request', 'at-once']).default('on-request'),
      /** days until a message that nobody collected goes back to its sender */
      keepDays: z.number().min(1).max(365).default(7),
      /** messages of one sender that may wait */
      perSender: z.number().int().min(1).max(1000).default(10),
      /** messages for one receiver that may wait */
      perReceiver: z.number().int().min(1).max(1000).default(20),
      /** messages in all that may wait */
      total: z.number().int().min(1).max(100_000).default(500),
      /** a receiver is told at most so often, in minutes */
      promptEveryMinutes: z.number().min(1).max(10_080).default(120),
      /** a receiver is told at most so often in all */
      promptsMax: z.number().int().min(0).max(100).default(5),
    })
    .prefault({}),
  /** What people post for everybody. */
  notices: z
    .strictObject({
      /** days until a notice is taken down */
      keepDays: z.number().min(1).max(365).default(7),
      /** notices of one sender */
      perSender: z.number().int().min(1).max(100).default(3),
      /** notices in all */
      total: z.number().int().min(1).max(1000).default(50),
    })
    .prefault({}),
  /** A GPS receiver. */
  gps: z
    .strictObject({
      /** serial line with NMEA 0183, such as "/dev/ttyACM0"; none when empty */
      device: z.string().default(''),
      /** speed of the line, bits a second */
      lineBitRate: z.number().int().min(1200).max(921_600).default(9600),
      /** take the position from it as well; false: only look how far the clock is off */
      position: z.boolean().default(true),
    })
    .prefault({}),
})
