import { z } from 'zod'

export const beaconsSection = z.strictObject({})
export type BeaconsSection = z.infer<typeof beaconsSection>
