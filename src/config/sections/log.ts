import { z } from 'zod'

export const logSection = z.strictObject({})
export type LogSection = z.infer<typeof logSection>
