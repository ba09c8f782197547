import { z } from 'zod'
import { callWithSsid } from './callSign.js'

/** RFC 5321's dot-string and a domain name, as `src/services/email/address.ts` takes them by radio. */
const localPart = "[A-Za-z0-9_+=&'-]+(\\.[A-Za-z0-9_+=&'-]+)*"
const domain =
  '[A-Za-z0-9]([A-Za-z0-9-]{0,61}[A-Za-z0-9])?(\\.[A-Za-z0-9]([A-Za-z0-9-]{0,61}[A-Za-z0-9])?)*'
export const emailAddress = z
  .string()
  .max(254)
  .regex(
    new RegExp(`^${localPart}@${domain}$`),
    'expected a mail address, such as "anna@example.org"',
  )
const addresses = z
  .array(
    z
      .string()
      .max(254)
      .regex(
        new RegExp(`^(\\*|(\\*|${localPart})@${domain})$`),
        'expected a mail address, "*@example.org" for all there, or "*" for all',
      ),
  )
  .max(1000)
const callOrAll = z.union([callWithSsid, z.literal('*')], {
  error: 'expected a call sign, with SSID or without for every SSID, upper case; or "*" for all',
})

/** Mail to addresses outside, and from them, when a link exists. Read what your rules say of third parties first. */
export const emailSection = z
  .strictObject({
    /** sends no mail and takes none until this is true */
    enabled: z.boolean().default(false),
    /** the station's own address: the sender of each mail, and where its answers go @example "hill@example.org" */
    from: emailAddress.optional(),
    /** stations that may send mail: calls with SSID, or without for every SSID; "*" for all; nobody when empty @example ["Q1ABC", "Q2XYZ-7"] */
    senders: z.array(callOrAll).max(1000).default([]),
    /** addresses that mail may go to: "anna@example.org", "*@example.org" for all there, "*" for all; none when empty @example ["*@example.org"] */
    receivers: addresses.default([]),
    /** Names that everybody may use for an address: hut = "hut@example.org". They need not stand in receivers. */
    names: z
      .record(
        z
          .string()
          .regex(/^[a-z][a-z0-9_-]{0,11}$/, 'expected 1 to 12 lower-case letters and figures'),
        emailAddress,
      )
      .default({}),
    /** names of their own that each may keep by radio */
    namesPerSender: z.number().int().min(0).max(50).default(10),
    /** names in all that are kept for people */
    namesTotal: z.number().int().min(0).max(10_000).default(500),
    /** mails of one call in 24 hours */
    perSenderDay: z.number().int().min(1).max(1000).default(5),
    /** mails in all in 24 hours, reports included */
    perDay: z.number().int().min(1).max(10_000).default(50),
    /** mails that may wait for a link */
    waitingMax: z.number().int().min(1).max(10_000).default(200),
    /** longest text, octets */
    textOctets: z.number().int().min(50).max(9_000).default(2_000),
    /** days until a mail that found no link is given up */
    keepDays: z.number().min(0.1).max(60).default(7),
    /** minutes until a mail is tried again; each time twice as long */
    retryMinutes: z.number().min(0.1).max(1440).default(5),
    /** hours at most between two tries */
    retryMaxHours: z.number().min(0.1).max(48).default(4),
    /** what stands at the end of each mail besides what the node says of itself */
    footer: z.string().max(500).default(''),
    /** The server that mail is given to (SMTP submission, RFC 6409). */
    server: z
      .strictObject({
        /** name or address; none when empty @example "mail.example.org" */
        host: z
          .string()
          .max(253)
          .regex(/^[A-Za-z0-9.:_-]*$/, 'expected a name or an address')
          .default(''),
        /** 587 with STARTTLS, 465 with TLS from the start */
        port: z.number().int().min(1).max(65_535).default(587),
        /** "starttls" (port 587), "implicit" (port 465), or "none" where your rules forbid encryption on the link */
        tls: z.enum(['starttls', 'implicit', 'none']).default('starttls'),
        /** certificate of an authority of your own, PEM, relative to the configuration file; empty for those of the system */
        caFile: z.string().default(''),
        /** name to log in with; no login when empty */
        user: z.string().max(200).default(''),
        /** file whose first line is the password, relative to the configuration file */
        passwordFile: z.string().default(''),
        /** seconds without a word from the server until a try is given up */
        timeLimitS: z.number().min(1).max(600).default(60),
      })
      .prefault({}),
    /** Mail that comes in: a maildir folder that some other program fills. */
    inbox: z
      .strictObject({
        /** the maildir, which has new/ and cur/ in it, relative to the configuration file; none when empty @example "/var/mail/hill" */
        folder: z.string().default(''),
        /** addresses whose mail is taken: "anna@example.org", "*@example.org", "*"; none when empty @example ["anna@example.org"] */
        senders: addresses.default([]),
        /** take answers to mails of this station from whom they went to, too */
        answers: z.boolean().default(true),
        /** messages that one mail may become; the rest is left out */
        messagesMax: z.number().int().min(1).max(5).default(3),
        /** minutes between two looks */
        lookMinutes: z.number().min(0.1).max(1440).default(2),
      })
      .prefault({}),
  })
  .superRefine((email, context) => {
    if (!email.enabled) return
    const need = (path: string[], message: string): void =>
      context.addIssue({ code: 'custom', path, message })
    if (email.from === undefined)
      need(['from'], 'expected the address of the station: email.enabled needs it')
    if (email.server.host === '')
      need(['server', 'host'], 'expected the mail server: email.enabled needs it')
    if ((email.server.user === '') !== (email.server.passwordFile === ''))
      need(['server', 'passwordFile'], 'expected user and passwordFile, or neither')
    if (email.server.tls === 'none' && email.server.user !== '')
      need(['server', 'user'], 'expected no login without TLS: the password would go in the clear')
  })
