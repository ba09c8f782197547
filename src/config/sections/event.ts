import { z } from 'zod'

const localTime = z
  .string()
  .refine(
    (text) => text === '' || isLocalTime(text),
    'expected a date and a time such as "2026-06-21 07:30", local time of the station',
  )
  .default('')

/** An event, such as a walk, a race or a field day: what it switches on between its start and its end. */
export const eventSection = z
  .strictObject({
    /** what it is called in its log; '' for no event @example "Ridge walk" */
    name: z.string().max(40).default(''),
    /** when it begins, local time @example "2026-06-21 07:30" */
    from: localTime,
    /** when it ends, local time @example "2026-06-21 19:00" */
    to: localTime,
    /** what goes out for it, its log and its page say that it is an exercise */
    exercise: z.boolean().default(false),
    /** tactical names: a CSV with the columns name, call and list; read again when it is saved @example "names.csv" */
    names: z.string().default(''),
    /** a tactical name whose station was heard within this is present in a roll call */
    presentMinutes: z.number().int().min(1).max(1440).default(30),
    /** keywords that are answered only while it is on @example ["checkpoint"] */
    services: z.array(z.string().min(1).max(20)).max(20).default([]),
    /** status text while it is on; '' for `beacons.status` */
    status: z.string().max(62).default(''),
    /** texts for everybody while it is on, sent by a schedule of "announcements" */
    announcements: z.array(z.string().min(1).max(67)).max(10).default([]),
  })
  .superRefine(({ name, from, to }, context) => {
    if (name === '') return
    for (const [key, value] of Object.entries({ from, to }))
      if (value === '')
        context.addIssue({
          code: 'custom',
          path: [key],
          message: 'expected when the event begins and ends',
        })
    if (from !== '' && to !== '' && from >= to)
      context.addIssue({
        code: 'custom',
        path: ['to'],
        message: 'expected a time after event.from',
      })
  })

function isLocalTime(text: string): boolean {
  const parts = /^(\d{4}-\d{2}-\d{2}) (\d{2}:\d{2})$/.exec(text)
  if (parts === null) return false
  const iso = `${parts[1]}T${parts[2]}:00.000Z`
  const wallMs = Date.parse(iso)
  return !Number.isNaN(wallMs) && new Date(wallMs).toISOString() === iso
}
