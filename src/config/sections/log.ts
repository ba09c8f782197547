import { z } from 'zod'

/** What it says on standard error. */
export const logSection = z.strictObject({
  /** what goes to standard error: "quiet" only faults, "normal" conversations and transmissions, "all" every frame heard */
  level: z.enum(['quiet', 'normal', 'all']).default('normal'),
  /** one line for people, or JSON Lines for a collector */
  format: z.enum(['text', 'json']).default('text'),
})
