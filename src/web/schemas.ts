import { z } from 'zod'

/*
 * What the API takes and gives. The descriptions in openapi.json are generated from here, and the page's own types are these.
 * Times are of the wall clock, milliseconds since 1970. What is absent is not known.
 */

const wallMs = z.number()
const radioNumber = z.int().min(0).max(15)

const holdSchema = z.object({ source: z.string(), reason: z.string(), sinceWallMs: wallMs })

const limitSchema = z.object({
  windowMs: z.number(),
  /** of the window, 0 to 1 */
  share: z.number(),
  usedMs: z.number(),
})

/** What a radio may still send. */
export const budgetSchema = z.object({
  limits: z.array(limitSchema),
  /** finished transmissions that still count, oldest first */
  spans: z.array(z.object({ fromWallMs: wallMs, toWallMs: wallMs })),
  /** airtime for answers now; absent where nothing limits it */
  freeMs: z.number().optional(),
  /** when there is room for one more second of it; absent where that is now, or never */
  moreAtWallMs: wallMs.optional(),
  /** since when an identification is owed */
  owedSinceWallMs: wallMs.optional(),
})
export type Budget = z.infer<typeof budgetSchema>

const queuedSchema = z.object({
  id: z.string(),
  priority: z.string(),
  origin: z.string(),
  station: z.string().optional(),
  text: z.string(),
  sinceWallMs: wallMs,
  heldFor: z.string().optional(),
})
export type Queued = z.infer<typeof queuedSchema>

const readingSchema = z.object({
  atWallMs: wallMs,
  rmsDbfs: z.number(),
  peakDbfs: z.number(),
  clippedShare: z.number(),
  readCount: z.number(),
  repairedCount: z.number(),
  damagedCount: z.number(),
  /** of the damaged frames that were looked into last while somebody looked: the most frequent cause */
  losses: z.object({ cause: z.string(), count: z.number(), of: z.number() }).optional(),
})
export type Reading = z.infer<typeof readingSchema>

export const radioSchema = z.object({
  radio: radioNumber,
  name: z.string(),
  receiving: z.boolean(),
  channelBusy: z.boolean(),
  keyed: z.boolean(),
  /** why nothing may be sent, in words */
  blockedBy: z.string().optional(),
  doubt: z.string().optional(),
  holds: z.array(holdSchema),
  budget: budgetSchema,
  queue: z.array(queuedSchema),
  /** as long as somebody looks at a radio that tells it */
  reading: readingSchema.optional(),
})
export type RadioView = z.infer<typeof radioSchema>

export const stateSchema = z.object({
  /** where the stream goes on from here */
  cursor: z.string(),
  atWallMs: wallMs,
  call: z.string(),
  version: z.string(),
  startedWallMs: wallMs,
  position: z.object({ latitudeDeg: z.number(), longitudeDeg: z.number() }).optional(),
  framesHeardCount: z.number(),
  openQuestionCount: z.number(),
  openMessageCount: z.number(),
  mailboxCount: z.number(),
  /** what came to nothing since the start, by reason */
  endings: z.array(z.object({ what: z.string(), reason: z.string(), count: z.number() })),
  /** what keeps the node from being well, in words */
  trouble: z.string().optional(),
  /** services that have nothing to answer out of, and why */
  notOffered: z.array(z.object({ keyword: z.string(), reason: z.string() })),
  /** what failed in the last ten minutes besides its radios, each as it was told last; not for the public */
  faults: z.array(z.object({ atWallMs: wallMs, text: z.string() })).optional(),
  /** the wall clock is believed: without that nothing expires */
  isClockTrusted: z.boolean().optional(),
  radios: z.array(radioSchema),
  /** the link to a broker, where one is configured */
  broker: z
    .object({
      isUp: z.boolean(),
      /** why it is not */
      trouble: z.string().optional(),
      sentCount: z.number(),
      heardCount: z.number(),
      /** sessions with other nodes that go on */
      openCount: z.number(),
    })
    .optional(),
  visitor: z.object({
    right: z.enum(['none', 'public', 'read', 'control']),
    canLogIn: z.boolean(),
  }),
  /** there is a simulated hand-held to try */
  canTry: z.boolean(),
  beaconKinds: z.array(z.string()),
})
export type StateView = z.infer<typeof stateSchema>

/** For whoever may not read: what the page needs to ask him for a password. */
export const lockedStateSchema = stateSchema
  .pick({ call: true, atWallMs: true, visitor: true })
  .strict()

const qualitySchema = z.object({
  levelDbfs: z.number(),
  toneBalanceDb: z.number(),
  toneOffsetHz: z.number(),
  symbolRateErrorPpm: z.number(),
  ebN0Db: z.number(),
  eyeOpening: z.number(),
  clippedShare: z.number(),
  preambleFlags: z.number(),
  /** on the air; 1200 where absent */
  bitRate: z.number().optional(),
})

export const stationSchema = z.object({
  call: z.string(),
  firstHeardWallMs: wallMs,
  lastHeardWallMs: wallMs,
  lastDirectWallMs: wallMs.optional(),
  frameCount: z.number(),
  radio: radioNumber,
  /** digipeaters of the last frame; 'direct' alone where there was none */
  via: z.array(z.string()),
  position: z
    .object({ latitudeDeg: z.number(), longitudeDeg: z.number(), atWallMs: wallMs })
    .optional(),
  /** from the node */
  distanceKm: z.number().optional(),
  bearingDeg: z.number().optional(),
  symbol: z.string().optional(),
  status: z.string().optional(),
  quality: qualitySchema.optional(),
})
export type StationView = z.infer<typeof stationSchema>

export const stationDetailSchema = stationSchema.extend({
  /** heard direct, newest first */
  signals: z.array(z.object({ atWallMs: wallMs, quality: qualitySchema })),
  /** frames in each of the last 24 hours, the present one first */
  hourlyCounts: z.array(z.number()),
  asked: z.array(
    z.object({ id: z.number(), text: z.string(), heardWallMs: wallMs, state: z.string() }),
  ),
})
export type StationDetail = z.infer<typeof stationDetailSchema>

/** Where a station was, as long as it sent the same place. */
export const stationPositionSchema = z.object({
  latitudeDeg: z.number(),
  longitudeDeg: z.number(),
  locator: z.string(),
  /** from the node */
  distanceKm: z.number().optional(),
  bearingDeg: z.number().optional(),
  fromWallMs: wallMs,
  toWallMs: wallMs,
  /** of frames that said so */
  count: z.number(),
  /** one of them at least came without a digipeater */
  isDirect: z.boolean(),
})
export type StationPosition = z.infer<typeof stationPositionSchema>

const messageSchema = z.object({
  id: z.number(),
  kind: z.string(),
  to: z.string(),
  text: z.string(),
  /** the number that its receiver acknowledges */
  number: z.string().optional(),
  state: z.string(),
  attempts: z.number(),
  createdWallMs: wallMs,
  endedWallMs: wallMs.optional(),
  reason: z.string().optional(),
})

export const conversationSchema = z.object({
  id: z.number(),
  from: z.string(),
  addressee: z.string(),
  text: z.string(),
  radio: radioNumber,
  heardWallMs: wallMs,
  state: z.string(),
  reason: z.string().optional(),
  messages: z.array(messageSchema),
})
export type Conversation = z.infer<typeof conversationSchema>

export const eventSchema = z.object({
  id: z.number(),
  atWallMs: wallMs,
  kind: z.string(),
  radio: radioNumber.optional(),
  station: z.string().optional(),
  reference: z.string().optional(),
  text: z.string(),
  reason: z.string().optional(),
})
export type EventView = z.infer<typeof eventSchema>

export const conversationDetailSchema = conversationSchema.extend({
  /** in order: each try, acknowledgement, delay and end */
  events: z.array(eventSchema),
})
export type ConversationDetail = z.infer<typeof conversationDetailSchema>

export const letterSchema = z.object({
  id: z.number(),
  from: z.string(),
  to: z.string(),
  /** only for those who may read more than what is public */
  text: z.string().optional(),
  leftWallMs: wallMs,
  expiresWallMs: wallMs.optional(),
  state: z.string(),
  promptCount: z.number(),
  promptedWallMs: wallMs.optional(),
  reason: z.string().optional(),
})
export type Letter = z.infer<typeof letterSchema>

export const noticeSchema = z.object({
  id: z.number(),
  from: z.string(),
  text: z.string(),
  postedWallMs: wallMs,
  expiresWallMs: wallMs.optional(),
})
export type NoticeView = z.infer<typeof noticeSchema>

export const transmissionSchema = z.object({
  atWallMs: wallMs,
  radio: radioNumber,
  priority: z.string(),
  /** as in a monitor line */
  line: z.string(),
  outcome: z.string(),
  airtimeMs: z.number().optional(),
  reference: z.string().optional(),
  reason: z.string().optional(),
  client: z.string().optional(),
})

export const tryStateSchema = z.object({
  call: z.string(),
  nodeCall: z.string(),
  /** carrier over noise between hand-held and node, dB */
  cnrDb: z.number(),
  sent: z.array(
    z.object({
      text: z.string(),
      number: z.string(),
      startedWallMs: wallMs,
      transmissions: z.number(),
      state: z.string(),
    }),
  ),
  shown: z.array(z.object({ text: z.string(), atWallMs: wallMs, count: z.number() })),
})
export type TryState = z.infer<typeof tryStateSchema>

export const configSchema = z.record(z.string(), z.unknown())
export const wellSchema = z.object({ ok: z.literal(true) })
export const unwellSchema = z.object({ ok: z.literal(false), trouble: z.string() })
export const referenceSchema = z.object({ reference: z.string() })

export const errorSchema = z.object({ error: z.object({ code: z.string(), message: z.string() }) })

export const eventsQuery = z.object({
  after: z.coerce.number().int().min(0).optional(),
  since: z.coerce.number().min(0).optional(),
  station: z
    .string()
    .regex(/^[A-Za-z0-9]{1,9}(-\d{1,2})?$/)
    .optional(),
  /** several, with commas between them */
  kind: z.string().max(200).optional(),
  limit: z.coerce.number().int().min(1).max(1000).default(300),
})
export const listQuery = z.object({ limit: z.coerce.number().int().min(1).max(1000).default(100) })
export const stationsQuery = z.object({
  limit: z.coerce.number().int().min(1).max(20_000).default(500),
})
export const streamQuery = z.object({
  spectrum: z.enum(['0', '1']).default('0'),
  after: z.string().max(80).optional(),
})
export const sinceQuery = z.object({ since: z.coerce.number().min(0).default(0) })
export const loginBody = z.strictObject({ password: z.string().min(1).max(200) })
export const holdBody = z.strictObject({ reason: z.string().max(60).default('') })
export const messageBody = z.strictObject({
  to: z.string().min(1).max(9),
  text: z.string().min(1).max(200),
})
export const tryMessageBody = z.strictObject({ text: z.string().trim().min(1).max(67) })
export const noiseBody = z.strictObject({ cnrDb: z.number().min(-5).max(40) })
