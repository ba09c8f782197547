import { z } from 'zod'

export const kissSection = z.strictObject({})
export type KissSection = z.infer<typeof kissSection>
