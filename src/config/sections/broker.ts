import { z } from 'zod'

/** An MQTT 5 broker within reach by an IP link: what this station tells there, and the way to other nodes. Off until it is turned on. */
export const brokerSection = z
  .strictObject({
    /** nothing is connected to until this is true */
    enabled: z.boolean().default(false),
    /** name or address of the broker; none when empty @example "broker.example.org" */
    host: z
      .string()
      .max(253)
      .regex(/^[A-Za-z0-9.:_-]*$/, 'expected a name or an address')
      .default(''),
    /** 8883 with TLS, 1883 without */
    port: z.number().int().min(1).max(65_535).default(8883),
    /** false where your rules forbid encryption on the link: then no login goes over it either */
    tls: z.boolean().default(true),
    /** certificate of an authority of your own, PEM, relative to the configuration file; empty for those of the system */
    caFile: z.string().default(''),
    /** name to log in with; no login when empty */
    user: z.string().max(200).default(''),
    /** file whose first line is the password, relative to the configuration file */
    passwordFile: z.string().default(''),
    /** what all topics begin with: the same for all nodes that exchange something */
    topic: z
      .string()
      .regex(/^[a-z0-9_-]{1,20}(\/[a-z0-9_-]{1,20}){0,3}$/, 'expected small letters and figures')
      .default('ridgepost'),
    /** what everybody may read there: "radios" (levels, duty, holds), "telemetry" (the channels of beacons.telemetry); never a text that people wrote */
    publish: z
      .array(z.enum(['radios', 'telemetry']))
      .max(2)
      .default(['radios', 'telemetry']),
    /** how often that is told, minutes; it goes from the broker after three times that */
    tellMinutes: z.number().min(0.5).max(1440).default(5),
    /** no other node is called by the broker more often than each so many minutes */
    everyMinutes: z.number().min(0.1).max(1440).default(1),
    /** octets of text that are handed over in one turn */
    turnOctets: z.number().int().min(1_000).max(200_000).default(30_000),
    /** seconds without a word from the broker, or from a node, until a try is given up; the broker keeps what is under way no longer */
    timeLimitS: z.number().min(5).max(600).default(60),
    /** seconds between two signs of life on a silent connection */
    keepAliveS: z.number().int().min(10).max(3600).default(60),
    /** seconds until a lost connection is tried again; each time twice as long */
    retryS: z.number().min(1).max(600).default(5),
    /** minutes at most between two tries */
    retryMaxMinutes: z.number().min(0.1).max(1440).default(10),
  })
  .superRefine((broker, context) => {
    if (!broker.enabled) return
    const need = (path: string, message: string): void =>
      context.addIssue({ code: 'custom', path: [path], message })
    if (broker.host === '') need('host', 'expected the broker: broker.enabled needs it')
    if ((broker.user === '') !== (broker.passwordFile === ''))
      need('passwordFile', 'expected user and passwordFile, or neither')
    if (!broker.tls && broker.user !== '')
      need('user', 'expected no login without TLS: the password would go in the clear')
  })
