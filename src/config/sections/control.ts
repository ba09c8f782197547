import { z } from 'zod'

/** Stopping the station by radio: hold, release, state, with one-time codes. Read what your rules ask of such control. */
export const controlSection = z.strictObject({
  /** secrets of the control operators, as `ridgepost enrol` writes them; relative to the configuration file; empty for none */
  file: z.string().default(''),
  /** codes that are looked at from the next one on: so many less one may be skipped */
  window: z.int().min(1).max(100).default(20),
})
