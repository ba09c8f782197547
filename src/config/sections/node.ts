import { z } from 'zod'

export const nodeSection = z.strictObject({})
export type NodeSection = z.infer<typeof nodeSection>
