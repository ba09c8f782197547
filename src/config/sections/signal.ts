import { z } from 'zod'

/** What frames go out with. */
export const signalSection = z.strictObject({
  /**
   * forward error correction of what is sent: 'none', FX.25 with so many check octets a frame, which plain receivers read
   * too, or IL2P without or with its CRC, which they do not read
   */
  errorCorrection: z
    .enum(['none', 'fx25-16', 'fx25-32', 'fx25-64', 'il2p', 'il2p-crc'])
    .default('none'),
})
export type SignalSection = z.infer<typeof signalSection>
