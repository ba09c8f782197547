import { z } from 'zod'

export const transmitSection = z.strictObject({})
export type TransmitSection = z.infer<typeof transmitSection>
