import { z } from 'zod'

/** The signal on the air. */
export const signalSection = z.strictObject({
  /**
   * bits a second on the air, both ways: 1200 as two tones, or 9600 (scrambled, G3RUH), which needs a radio's flat data port;
   * of an external modem, what it is set to
   */
  bitRate: z.literal([1200, 9600]).default(1200),
  /**
   * forward error correction of what is sent: 'none', FX.25 with so many check octets a frame, which plain receivers read
   * too, or IL2P without or with its CRC, which they do not read
   */
  errorCorrection: z
    .enum(['none', 'fx25-16', 'fx25-32', 'fx25-64', 'il2p', 'il2p-crc'])
    .default('none'),
})
export type SignalSection = z.infer<typeof signalSection>
