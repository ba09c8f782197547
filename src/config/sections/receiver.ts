import { z } from 'zod'

/** How hard it listens. */
export const receiverSection = z.strictObject({
  /** how far frames with a wrong check sequence are repaired: 'none', 'careful' or 'eager' */
  repair: z.enum(['none', 'careful', 'eager']).default('careful'),
  /** count any signal above the noise, voice included, as a busy channel; not only packet */
  busyOnAnySignal: z.boolean().default(false),
  /** also read IL2P; FX.25 is always read */
  il2p: z.boolean().default(false),
})
