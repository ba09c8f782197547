import { z } from 'zod'
import { callWithSsid } from './callSign.js'

const kinds = z.enum(['message', 'letter', 'notice', 'stations', 'weather', 'directory'])
const all = kinds.options

const neighbourSection = z.strictObject({
  /** what the other node is connected to by, with SSID @example "Q1FAR-5" */
  call: callWithSsid,
  /** words that only the two nodes know: every line between them is sealed; without, whoever uses its call is believed */
  secret: z
    .string()
    .regex(/^(|[\x20-\x7e]{16,100})$/, 'expected nothing, or 16 to 100 printable characters')
    .default(''),
  /** kinds of entries that are taken from it */
  takes: z.array(kinds).max(6).default(all),
  /** kinds of entries that are handed to it */
  gives: z.array(kinds).max(6).default(all),
  /** how it is reached: "radio", "broker" (see broker), or both: then by radio only while the broker does not reach it */
  by: z
    .array(z.enum(['radio', 'broker']))
    .min(1)
    .max(2)
    .default(['radio']),
})

/** Exchange with nodes on other hills, by radio over connected mode, or by a broker: messages, letters, notices, stations, weather, news. Off until the licensee turns it on. */
export const hillsSection = z.strictObject({
  /** nothing is exchanged, and nothing announced, until this is true; by radio connected.enabled must be true as well */
  enabled: z.boolean().default(false),
  /** number of the radio that the other nodes are heard on */
  radio: z.number().int().min(0).max(15).default(0),
  /** share of any hour that this may send, percent */
  dutyPercent: z.number().min(0.5).max(50).default(5),
  /** how often this node announces itself, minutes */
  announceMinutes: z.number().min(5).max(1440).default(30),
  /** no other node is called more often than each so many minutes */
  everyMinutes: z.number().min(1).max(1440).default(15),
  /** the channel must have been free for so long before another node is called, seconds */
  quietS: z.number().min(1).max(600).default(10),
  /** senders without a call sign whose messages may go on the air, as they stand in "from": a word of 1 to 6 letters or digits, such as "HUT" */
  senders: z
    .array(z.string().regex(/^[A-Za-z0-9]{1,6}$/, 'expected 1 to 6 letters or digits'))
    .max(100)
    .default([]),
  /** what the other nodes' people should know of repeaters and stations here, such as "145.725 is off the air" */
  news: z
    .array(z.string().regex(/^[\x20-\x7e]{1,67}$/, 'expected 1 to 67 printable characters'))
    .max(9)
    .default([]),
  /** A node that entries are exchanged with. */
  neighbour: z.array(neighbourSection).max(40).default([]),
})
