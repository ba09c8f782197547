import { z } from 'zod'

/** A column's header text, or its number counted from 1. */
const column = z.union([z.string().min(1), z.number().int().min(1)], {
  error: 'expected a header text, or a column number counted from 1',
})

const repeatersTable = z.strictObject({
  /** CSV directory; relative to the configuration file */
  file: z.string().default(''),
  /** header text or number of a field's column, where it is not recognised by itself */
  columns: z
    .strictObject({
      name: column.optional(),
      call: column.optional(),
      output: column.optional(),
      input: column.optional(),
      offset: column.optional(),
      tone: column.optional(),
      latitude: column.optional(),
      longitude: column.optional(),
      locator: column.optional(),
      mode: column.optional(),
    })
    .prefault({}),
  /** km; farther repeaters are not named */
  rangeKm: z.number().min(1).max(20_100).default(400),
})

export const servicesSection = z.strictObject({
  /** keywords that are not offered, such as ["post", "board"] */
  off: z.array(z.string()).default([]),
  /** hours; an asker's older position is not used, the node's is */
  positionAgeMaxHours: z.number().min(0).max(8760).default(12),
  repeaters: repeatersTable.prefault({}),
})
export type ServicesSection = z.infer<typeof servicesSection>
