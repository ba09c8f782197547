import { z } from 'zod'

export const receiverSection = z.strictObject({})
export type ReceiverSection = z.infer<typeof receiverSection>
