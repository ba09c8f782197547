import { z } from 'zod'

/** What frames go out with. */
export const signalSection = z.strictObject({
  /**
   * forward error correction of what is sent: 'none', or FX.25 with so many check octets a frame, which plain receivers read
   * too; received it always is
   */
  errorCorrection: z.enum(['none', 'fx25-16', 'fx25-32', 'fx25-64']).default('none'),
})
export type SignalSection = z.infer<typeof signalSection>
