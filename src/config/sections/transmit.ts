import { z } from 'zod'

/** A switch or contact that stops all transmitting while it is on. */
const holdInput = z.strictObject({
  /** what is read; none: nothing */
  kind: z.enum(['none', 'serial', 'gpio', 'command']).default('none'),
  /** serial: /dev/ttyUSB0; gpio: gpiochip0 */
  device: z.string().default(''),
  /** serial: an input of the port; gpio: the line's number on its chip @example "cts" */
  line: z
    .union([z.enum(['cts', 'dsr', 'dcd']), z.number().int().min(0).max(1023)], {
      error: 'expected "cts", "dsr" or "dcd" (serial), or the number of a line (gpio)',
    })
    .optional(),
  /** true where the low level means hold */
  activeLow: z.boolean().default(false),
  /** kind command: exit status 0 means hold, 1 means free; anything else holds, with a warning */
  command: z.array(z.string().min(1)).max(40).default([]),
  /** how often it is read, ms */
  intervalMs: z.number().int().min(100).max(10_000).default(500),
})

/** What may be sent, when, and the figures of the station that `check` and `exposure` use. */
export const transmitSection = z
  .strictObject({
    /** nothing is ever keyed until this is true and station.call is a real call sign */
    enabled: z.boolean().default(false),
    /** where the transmitter is tuned; a figure for `check` and `exposure`, nothing is tuned by it @example 145.01 */
    frequencyMHz: z.number().min(0.1).max(300_000).optional(),
    /** such as "2 m"; derived from the frequency where absent @example "2 m" */
    band: z.string().max(20).optional(),
    /** transmitter's output, watts @example 10 */
    powerW: z.number().min(0).max(2000).optional(),
    /** of the cable between transmitter and antenna */
    feedLineLossDb: z.number().min(0).max(60).default(0),
    /** over an isotropic antenna @example 2.15 */
    antennaGainDbi: z.number().min(-30).max(40).optional(),
    /** of the antenna's centre over the ground where people stand @example 9 */
    antennaHeightM: z.number().min(0).max(1000).optional(),
    /** largest dimension of the antenna, m: its near field and its lowest point come from it @example 1.5 */
    antennaSizeM: z.number().min(0).max(100).optional(),

    /** from key down to the first frame, filled with flags (TXDELAY), ms */
    keyDelayMs: z.number().int().min(0).max(2550).default(300),
    /** from the last frame's end to key up, filled with flags (TXtail), ms */
    tailMs: z.number().int().min(0).max(2550).default(50),
    /** wait between two draws for the channel (SlotTime), ms */
    slotTimeMs: z.number().int().min(10).max(2550).default(100),
    /** P of p-persistence: a draw from 0 to 255 that is at most P sends */
    persistence: z.number().int().min(0).max(255).default(63),
    /** true sends without listening first */
    fullDuplex: z.boolean().default(false),
    /** peak of the larger tone below full scale, dB */
    levelDbfs: z.number().min(-60).max(0).default(-6),
    /** space tone over mark tone as sent, dB: pre-emphasis done here for a radio that has none */
    toneBalanceDb: z.number().min(-12).max(12).default(0),

    /** longest time that the key line may be on, ms: then it is released, whatever happens */
    timeOutMs: z.number().int().min(1000).max(30_000).default(8000),
    /** share of any dutyWindowMinutes that the key line may be on */
    dutyPercent: z.number().min(1).max(100).default(20),
    /** how long that window is, minutes */
    dutyWindowMinutes: z.number().min(1).max(120).default(6),
    /** the same over a longer window, for what the radio's cooling stands */
    longDutyPercent: z.number().min(1).max(100).default(20),
    /** how long the longer window is, minutes */
    longDutyWindowMinutes: z.number().min(1).max(720).default(30),
    /** share of what the tighter of both allows that only acknowledgements and emergencies may use */
    reservePercent: z.number().min(0).max(50).default(10),

    /** longest time between two identifications while something is sent that does not carry our call */
    identificationMinutes: z.number().min(1).max(10).default(9),
    /** silence of ours after which a communication counts as ended, and is identified, s */
    identificationQuietS: z.number().min(1).max(300).default(20),
    /** destination field of an identification frame */
    identificationDestination: z
      .string()
      .regex(/^[A-Z0-9]{1,6}$/, 'expected 1 to 6 capital letters and digits, such as "ID"')
      .default('ID'),
    /** The call sign in Morse. */
    morse: z
      .strictObject({
        /** appends the call sign in Morse to each identification */
        enabled: z.boolean().default(false),
        /** its speed, words a minute (PARIS) */
        wordsPerMinute: z.number().min(5).max(20).default(18),
        /** its tone, Hz */
        toneHz: z.number().min(300).max(2500).default(800),
      })
      .prefault({}),

    /** while a file of this name exists, nothing is sent */
    holdFile: z.string().default(''),
    holdInput: holdInput.prefault({}),
    /** frames that may wait; one more is refused, or the least urgent makes room for it */
    queueMax: z.number().int().min(1).max(1000).default(100),
  })
  .superRefine((transmit, context) => {
    const input = transmit.holdInput
    const complain = (path: string, message: string): void => {
      context.addIssue({ code: 'custom', path: ['holdInput', path], message })
    }
    if ((input.kind === 'serial' || input.kind === 'gpio') && input.device === '') {
      complain('device', `expected the device that kind = "${input.kind}" reads; name it`)
    }
    if (input.kind === 'serial' && typeof input.line === 'number') {
      complain('line', 'expected "cts", "dsr" or "dcd" with kind = "serial"')
    }
    if (input.kind === 'gpio' && typeof input.line !== 'number') {
      complain('line', 'expected the number of the line on its chip with kind = "gpio"')
    }
    if (input.kind === 'command' && input.command.length === 0) {
      complain('command', 'expected a program and its arguments with kind = "command"')
    }
    if (transmit.longDutyWindowMinutes < transmit.dutyWindowMinutes) {
      context.addIssue({
        code: 'custom',
        path: ['longDutyWindowMinutes'],
        message: 'expected at least dutyWindowMinutes',
      })
    }
  })
export type TransmitSection = z.infer<typeof transmitSection>
