import { z } from 'zod'

/** Whose limits `check` and `exposure` use; local rules decide. */
export const exposureSection = z
  .strictObject({
    /** a set by its name, or own with the figures below */
    limits: z
      .enum(['47cfr1.1310', 'icnirp-1998', 'icnirp-2020', 'safety-code-6', 'own'])
      .default('47cfr1.1310'),
    /** own limit of power density for everybody, W/m2 @example 2 */
    ownWPerM2: z.number().min(0.001).max(1000).optional(),
    /** own limit for trained people, W/m2; that of everybody where absent @example 10 */
    ownOccupationalWPerM2: z.number().min(0.001).max(1000).optional(),
    /** time over which the own limits may be averaged, minutes @example 6 */
    ownAveragingMinutes: z.number().min(0.1).max(60).optional(),
  })
  .superRefine(({ limits, ownWPerM2, ownAveragingMinutes }, context) => {
    if (limits !== 'own') return
    for (const [key, value] of Object.entries({ ownWPerM2, ownAveragingMinutes }))
      if (value === undefined)
        context.addIssue({ code: 'custom', path: [key], message: 'limits = "own" needs it' })
  })
