import { z } from 'zod'

export const storeSection = z.strictObject({})
export type StoreSection = z.infer<typeof storeSection>
