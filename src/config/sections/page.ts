import { z } from 'zod'
import { addressOrRange } from './address.js'

/** What `ridgepost password --token` prints: a name, SHA-256 of the token in hex, and what it may do. */
const tokenSection = z.strictObject({
  /** stands in the log with what is done with it @example "tablet" */
  name: z.string().min(1).max(40),
  /** SHA-256 of the token, 64 hex digits @example "0000000000000000000000000000000000000000000000000000000000000000" */
  sha256: z
    .string()
    .regex(/^[0-9a-f]{64}$/, 'expected 64 hex digits, as ridgepost password prints'),
  /** "read", or "control" as well */
  scope: z.enum(['read', 'control']).default('read'),
})

/** The operator's page, and the API behind it. Off unless it is enabled. */
export const pageSection = z.strictObject({
  /** serve the page */
  enabled: z.boolean().default(false),
  /** address to listen on; anything but loopback needs `allow` */
  address: z.string().min(2).max(45).default('127.0.0.1'),
  /** TCP port; 0 takes any free one */
  port: z.number().int().min(0).max(65_535).default(18700),
  /** path of a Unix socket to listen on instead, for a reverse proxy; nobody who comes this way counts as local */
  socket: z.string().max(100).default(''),
  /** addresses and ranges that may connect; loopback always may */
  allow: z.array(addressOrRange).max(100).default([]),
  /** names under which the page is reached, besides localhost and IP addresses, such as "hill.example" */
  hosts: z.array(z.string().min(1).max(253)).max(20).default([]),
  /** whoever may connect reads what was on the air without a login */
  public: z.boolean().default(false),
  /** what `ridgepost password` prints; without one nobody can log in, and nothing can be controlled */
  passwordHash: z.string().max(200).default(''),
  /** for scripts */
  token: z.array(tokenSection).max(20).default([]),
  /** who may look at a time */
  viewersMax: z.number().int().min(1).max(200).default(20),
})
