import { z } from 'zod'

export const audioSection = z.strictObject({})
export type AudioSection = z.infer<typeof audioSection>
