import { z } from 'zod'
import { callWithSsid } from './callSign.js'
import { emailAddress } from './email.js'

/** What a rule looks at, with the keys that it needs. */
const needs = {
  heard: ['station'],
  'not-heard': ['station', 'forHours'],
  'telemetry-below': ['channel', 'value'],
  'telemetry-above': ['channel', 'value'],
  'disk-below': ['value'],
  held: [],
  emergency: [],
  'broker-away': ['forHours'],
} as const

const ruleSection = z
  .strictObject({
    /** how the alert names it @example "digipeater silent" */
    name: z
      .string()
      .regex(/^[^|~{\x00-\x1f\x7f]{1,25}$/u, 'expected 1 to 25 characters without | ~ {'),
    /** "heard" and "not-heard": a station; "telemetry-below", "telemetry-above": a channel of beacons.telemetry; "disk-below": megabytes free beside the database; "held": a radio that may not send; "emergency": a call for help; "broker-away": no link to the broker @example "not-heard" */
    when: z.enum([
      'heard',
      'not-heard',
      'telemetry-below',
      'telemetry-above',
      'disk-below',
      'held',
      'emergency',
      'broker-away',
    ]),
    /** of "heard" and "not-heard" @example "Q1ABC-7" */
    station: callWithSsid.optional(),
    /** of "not-heard" and "broker-away", and how long a hold lasts before "held" tells of it; counted from the start of the node at the earliest @example 6 */
    forHours: z.number().min(0.1).max(1000).optional(),
    /** name of a channel of beacons.telemetry @example "Battery" */
    channel: z.string().min(1).optional(),
    /** what it must not fall below, or rise above; megabytes of "disk-below" @example 12.2 */
    value: z.number().optional(),
    /** told again so long after, while it lasts or when it comes back */
    againHours: z.number().min(0.5).max(1000).default(12),
  })
  .superRefine((rule, context) => {
    for (const key of needs[rule.when])
      if (rule[key] === undefined)
        context.addIssue({
          code: 'custom',
          path: [key],
          message: `expected a value: "${rule.when}" needs it`,
        })
  })

/** Rules of the operator's own, and who is told when one holds. */
export const alertsSection = z.strictObject({
  /** stations that are told by message, such as "Q1ABC-7" */
  to: z.array(callWithSsid).max(5).default([]),
  /** addresses that are told by mail, through [email]; they need not stand in email.receivers @example ["ops@example.org"] */
  mail: z.array(emailAddress).max(5).default([]),
  /** a program that is told, as a list of words: it is given the rule's name and a sentence; none when empty */
  command: z.array(z.string().min(1)).max(40).default([]),
  /** A rule of the operator's own. */
  rule: z.array(ruleSection).max(20).default([]),
})
