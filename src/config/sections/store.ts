import { z } from 'zod'

/** What the node keeps, and for how long. */
export const storeSection = z.strictObject({
  /** the database; ":memory:" forgets everything at the end */
  file: z.string().min(1).default('ridgepost.db'),
  /** frames, events and ended conversations are kept so long, in days */
  keepDays: z.number().min(1).max(3650).default(14),
  /** stations not heard are kept so long, in days */
  keepStationsDays: z.number().min(1).max(3650).default(60),
  /** above this the oldest frames and events go, in megabytes */
  sizeMbMax: z.number().min(5).max(100_000).default(500),
  /** damaged frames are looked into, and the log says why each was lost, also while nobody looks at the page; each costs the radio's thread some tens of ms */
  explainsLosses: z.boolean().default(false),
  /** what was heard waits so long for more before it is written, in seconds; spares an SD card */
  flushS: z.number().min(0.2).max(60).default(30),
})
