import { z } from 'zod'
import { addressOrRange } from './address.js'

/** KISS over TCP. */
const tcpSection = z.strictObject({
  /** offer KISS over TCP */
  enabled: z.boolean().default(true),
  /** address to listen on; anything but loopback needs `allow` */
  address: z.string().min(2).max(45).default('127.0.0.1'),
  /** TCP port; 0 takes any free one */
  port: z.number().int().min(0).max(65_535).default(18701),
  /** addresses and ranges that may connect; loopback always may */
  allow: z.array(addressOrRange).max(100).default([]),
  /** connections at a time */
  clientsMax: z.number().int().min(1).max(200).default(20),
  /** connections of one machine, this one included; more are turned away, so that none locks out the others */
  clientsPerAddressMax: z.number().int().min(1).max(200).default(8),
  /** octets that may wait for a slow client before it is dropped */
  bufferOctetsMax: z.number().int().min(4096).max(16_777_216).default(262_144),
})

const serialSection = z.strictObject({
  /** serial device @example "/dev/ttyUSB1" */
  device: z.string().min(1),
  /** speed of the line, bits a second; always 8 data bits, no parity, 1 stop bit */
  lineBitRate: z.number().int().min(300).max(4_000_000).default(9600),
  /** each frame ends with a checksum, both ways (multi-drop KISS of 1991) */
  checksum: z.boolean().default(false),
  /** nothing is sent on the line but what the other side polls for, a frame a poll (multi-drop KISS of 1991) */
  polled: z.boolean().default(false),
})

/** The radios as KISS modems for other programs. */
export const kissSection = z.strictObject({
  /** clients hear frames; what they want sent is counted and dropped */
  receiveOnly: z.boolean().default(false),
  /** clients may set TXDELAY, P, SlotTime, TXtail and FullDuplex of a radio */
  parametersAllowed: z.boolean().default(true),
  /** clients may switch a radio to full duplex: it then sends without listening first */
  fullDuplexAllowed: z.boolean().default(false),
  /** longest mean wait for a free channel that clients may set with SlotTime and P, ms: slotTimeMs × (256 / (persistence + 1) − 1) */
  meanWaitMsMax: z.number().int().min(0).max(60_000).default(5000),
  /** longest TXDELAY that clients may set, ms; the shortest is transmit.keyDelayMs, which the radio needs */
  keyDelayMsMax: z.number().int().min(0).max(2550).default(1000),
  /** longest TXtail that clients may set, ms; the shortest is transmit.tailMs */
  tailMsMax: z.number().int().min(0).max(2550).default(500),
  /** what clients of this machine, of serial lines and pseudo-terminals may send: "any" frame, "own-call" as below, "nothing" */
  localMaySend: z.enum(['any', 'own-call', 'nothing']).default('any'),
  /** the same for clients on other machines; "own-call": from station.call with any SSID, or repeated by it */
  remoteMaySend: z.enum(['any', 'own-call', 'nothing']).default('own-call'),
  /** how long a client's frame may wait for the channel, seconds */
  frameLifeS: z.number().int().min(1).max(3600).default(120),
  tcp: tcpSection.prefault({}),
  /** Serial lines that offer KISS to another machine. */
  serial: z.array(serialSection).max(8).default([]),
  /** paths at which a pseudo-terminal offers KISS to programs that want a serial device */
  pseudoTerminals: z.array(z.string().min(1)).max(8).default([]),
})
export type KissSection = z.infer<typeof kissSection>
