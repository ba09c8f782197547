import { z } from 'zod'

export const servicesSection = z.strictObject({})
export type ServicesSection = z.infer<typeof servicesSection>
