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
    /** what is sent @example "position" */
    send: z.enum([
      'position',
      'status',
      'capabilities',
      'services',
      'notices',
      'announcements',
      'objects',
      'telemetry',
      'telemetry-definitions',
      'weather',
    ]),
    /** minutes between two; the reference's net cycle is 10 direct, 20 through two digipeaters @example 30 */
    everyMinutes: z.number().min(1).max(10_080).optional(),
    /** five fields, in UTC, such as "0,30 * * * *" @example "0,30 * * * *" @or everyMinutes */
    cron: z.string().refine(isCron, 'expected five cron fields, such as "0,30 * * * *"').optional(),
    /** digipeaters that are asked to repeat it */
    path: z.array(digipeater).max(8).default([]),
    /** numbers of the radios that send it; all when absent @example [0] */
    radios: z.array(z.number().int().min(0).max(15)).optional(),
  })
  .refine(({ everyMinutes, cron }) => (everyMinutes === undefined) !== (cron === undefined), {
    message: 'expected either everyMinutes or cron',
  })

const objectSection = z.strictObject({
  /** at most 9 characters @example "HUT" */
  name: z.string().min(1).max(9),
  /** where it is, north positive @example 45.18 */
  latitudeDeg: z.number().min(-90).max(90),
  /** east positive @example -36.69 */
  longitudeDeg: z.number().min(-180).max(180),
  /** symbol table and code */
  symbol: symbol.default('/r'),
  /** after its position */
  comment: z.string().max(43).default(''),
})

/** One analogue value, read from a file or a command each time. One of `file` and `command` is given. */
const channelSection = z
  .strictObject({
    /** at most 5 to 7 characters are sent @example "Temp" */
    name: z.string().min(1).max(7),
    /** at most 5 to 7 characters, too @example "C" */
    unit: z.string().min(1).max(7),
    /** the first number in this file, such as a sensor of the kernel @example "/sys/class/thermal/thermal_zone0/temp" */
    file: z.string().min(1).optional(),
    /** a program and its arguments; the first number that it prints @example ["/usr/local/bin/supply-voltage"] @or file */
    command: z.array(z.string()).min(1).optional(),
    /** what was read is multiplied by this @example 0.001 */
    scale: z.number().default(1),
    /** resolution of what is sent: 256 steps from `offset` up @example 0.5 */
    step: z.number().positive().default(1),
    /** what is read at step 0 @example -40 */
    offset: z.number().default(0),
  })
  .refine(({ file, command }) => (file === undefined) !== (command === undefined), {
    message: 'expected either file or command',
  })

/** What the position says of the station's reach: power, height and gain, or a range; nothing by default. */
const antennaSection = z
  .strictObject({
    /** transmitter power; rounded to a whole number squared, 81 at most @example 25 */
    powerW: z.number().min(0).max(90).optional(),
    /** the antenna above the average of the terrain around, not above the mast's foot @example 150 */
    heightAboveTerrainM: z.number().min(0).max(9000).optional(),
    /** of the antenna @example 6 */
    gainDb: z.number().min(0).max(9.4).optional(),
    /** where it beams, 0 or 360 for north; none for all directions @example 90 */
    directionDeg: z.number().min(0).max(360).optional(),
    /** in place of all these: how far it reaches @example 40 @or powerW */
    rangeKm: z.number().min(1).max(16_000).optional(),
  })
  .superRefine((antenna, context) => {
    const { powerW, heightAboveTerrainM, gainDb, directionDeg, rangeKm } = antenna
    const all = [powerW, heightAboveTerrainM, gainDb]
    const given = [...all, directionDeg].filter((value) => value !== undefined)
    const isWhole = all.every((value) => value !== undefined)
    if (rangeKm === undefined ? given.length === 0 || isWhole : given.length === 0) return
    const message = 'expected powerW, heightAboveTerrainM and gainDb together, or rangeKm alone'
    context.addIssue({ code: 'custom', message })
  })

/** What the node tells of itself, unasked. */
export const beaconsSection = z.strictObject({
  /** What the node sends by itself, and when. */
  schedule: z.array(scheduleSection).max(50).default([]),
  /** a beacon that finds no free channel, or no room in the duty limit, is dropped after so long, in seconds */
  notAfterS: z.number().min(5).max(3600).default(120),
  /** symbol table and code of the node */
  symbol: symbol.default('/r'),
  /** after the position; 36 characters of it where `beacons.antenna` is given */
  comment: z.string().max(43).default(''),
  /** What the position says of the station's reach. */
  antenna: antennaSection.prefault({}),
  /** status text */
  status: z.string().max(62).default(''),
  /** Things on the map that the node tells of, besides the nearest repeaters. */
  object: z.array(objectSection).max(20).default([]),
  /** so many of the nearest repeaters of the directory are sent as objects */
  nearestRepeaters: z.number().int().min(0).max(10).default(0),
  /** Values that the node sends, such as a temperature. */
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
