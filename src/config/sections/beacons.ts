import { Cron } from 'croner'
import { z } from 'zod'

const digipeater = z
  .string()
  .regex(
    /^[A-Z0-9]{1,6}(-(1[0-5]|[0-9]))?$/,
    'expected a digipeater such as "WIDE2-1" or "N0CALL-1"',
  )

const symbol = z
  .string()
  .regex(/^[/\\0-9A-Z][!-~]$/, 'expected a symbol of two characters, table and code, such as "/r"')

/** What is sent, and when: by `everyMinutes` or by `cron`. */
const scheduleSection = z
  .strictObject({
    send: z.enum([
      'position',
      'status',
      'capabilities',
      'services',
      'notices',
      'objects',
      'telemetry',
      'telemetry-definitions',
    ]),
    /** minutes between two; the reference's net cycle is 10 direct, 20 through two digipeaters */
    everyMinutes: z.number().min(1).max(10_080).optional(),
    /** five fields, in UTC, such as "0,30 * * * *" */
    cron: z.string().refine(isCron, 'expected five cron fields, such as "0,30 * * * *"').optional(),
    path: z.array(digipeater).max(8).default([]),
    /** numbers of the radios that send it; all when absent */
    radios: z.array(z.number().int().min(0).max(15)).optional(),
  })
  .refine(({ everyMinutes, cron }) => (everyMinutes === undefined) !== (cron === undefined), {
    message: 'expected either everyMinutes or cron',
  })

const objectSection = z.strictObject({
  name: z.string().min(1).max(9),
  latitudeDeg: z.number().min(-90).max(90),
  longitudeDeg: z.number().min(-180).max(180),
  symbol: symbol.default('/r'),
  comment: z.string().max(43).default(''),
})

/** One analogue value, read from a file or a command each time. One of `file` and `command` is given. */
const channelSection = z
  .strictObject({
    /** at most 5 to 7 characters are sent */
    name: z.string().min(1).max(7),
    unit: z.string().min(1).max(7),
    /** the first number in this file, such as a sensor of the kernel */
    file: z.string().min(1).optional(),
    /** a program and its arguments; the first number that it prints */
    command: z.array(z.string()).min(1).optional(),
    /** what was read is multiplied by this */
    scale: z.number().default(1),
    /** resolution of what is sent: 256 steps from `offset` up */
    step: z.number().positive().default(1),
    offset: z.number().default(0),
  })
  .refine(({ file, command }) => (file === undefined) !== (command === undefined), {
    message: 'expected either file or command',
  })

export const beaconsSection = z.strictObject({
  schedule: z.array(scheduleSection).max(50).default([]),
  /** a beacon that finds no free channel, or no room in the duty limit, is dropped after so long, in seconds */
  notAfterS: z.number().min(5).max(3600).default(120),
  /** symbol table and code of the node */
  symbol: symbol.default('/r'),
  /** after the position */
  comment: z.string().max(43).default(''),
  /** status text */
  status: z.string().max(62).default(''),
  /** things on the map that the node tells of, besides the nearest repeaters */
  object: z.array(objectSection).max(20).default([]),
  /** so many of the nearest repeaters of the directory are sent as objects */
  nearestRepeaters: z.number().int().min(0).max(10).default(0),
  telemetry: z.array(channelSection).max(3).default([]),
})
export type BeaconsSection = z.infer<typeof beaconsSection>

function isCron(expression: string): boolean {
  try {
    return new Cron(expression, { timezone: 'UTC', paused: true }).nextRun(new Date(0)) !== null
  } catch {
    return false
  }
}
