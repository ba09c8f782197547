import { z } from 'zod'

export const pttSection = z.strictObject({})
export type PttSection = z.infer<typeof pttSection>
