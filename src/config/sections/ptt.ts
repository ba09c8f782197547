import { z } from 'zod'

/** A program with its arguments; started directly, never through a shell. */
const command = z.array(z.string().min(1)).max(40)

/** How the transmitter is keyed. */
export const pttSection = z
  .strictObject({
    /** none: the radio keys itself on audio (VOX); log: only the log file; the others name their hardware */
    kind: z.enum(['none', 'log', 'serial', 'gpio', 'hid', 'command']).default('none'),
    /** serial: /dev/ttyUSB0; gpio: gpiochip0; hid: /dev/hidraw0 */
    device: z.string().default(''),
    /** serial: "rts", "dtr" or "both"; gpio: the line's number on its chip; hid: the chip's GPIO pin, 1 to 4 @example "rts" */
    line: z
      .union([z.enum(['rts', 'dtr', 'both']), z.number().int().min(0).max(1023)], {
        error: 'expected "rts", "dtr" or "both" (serial), or the number of a line (gpio, hid)',
      })
      .optional(),
    /** true where the low level keys the radio */
    activeLow: z.boolean().default(false),
    /** kind command: what keys, as a list of words, such as ["/usr/local/bin/key", "on"] */
    keyCommand: command.default([]),
    /** kind command: what unkeys */
    unkeyCommand: command.default([]),
    /** a line for every edge of the key line, with any kind; required by kind log */
    logFile: z.string().default(''),
    /**
     * how long the radio stays on the air after its line, or the audio that keys it, has ended, ms; required with kind none;
     * a roger beep counts, too; write 3000 to begin with, and then what `ridgepost tone vox` says @example 0
     */
    hangMs: z.number().int().min(0).max(10_000).optional(),
    /** from key down, or from the begin of the audio, to the radio's being on the air, ms; transmit.keyDelayMs where absent @example 0 */
    attackMs: z.number().int().min(0).max(2550).optional(),
    /** how long the helper that owns the line waits for a sign of life while keyed, ms */
    deadManMs: z.number().int().min(60).max(200).default(150),
  })
  .superRefine((ptt, context) => {
    const complain = (path: string, message: string): void => {
      context.addIssue({ code: 'custom', path: [path], message })
    }
    const needsDevice = ptt.kind === 'serial' || ptt.kind === 'gpio' || ptt.kind === 'hid'
    if (needsDevice && ptt.device === '') {
      complain('device', `expected the device that kind = "${ptt.kind}" uses; name it`)
    }
    if (ptt.kind === 'serial' && typeof ptt.line === 'number') {
      complain('line', 'expected "rts", "dtr" or "both" with kind = "serial"')
    }
    if (ptt.kind === 'gpio' && typeof ptt.line !== 'number') {
      complain('line', 'expected the number of the line on its chip with kind = "gpio"')
    }
    const pin = ptt.line ?? 3
    if (ptt.kind === 'hid' && (typeof pin !== 'number' || pin < 1 || pin > 4)) {
      complain('line', 'expected the number of a GPIO pin, 1 to 4, with kind = "hid"')
    }
    if (ptt.kind === 'command' && ptt.keyCommand.length === 0) {
      complain('keyCommand', 'expected a program and its arguments with kind = "command"')
    }
    if (ptt.kind === 'command' && ptt.unkeyCommand.length === 0) {
      complain('unkeyCommand', 'expected a program and its arguments with kind = "command"')
    }
    if (ptt.kind === 'log' && ptt.logFile === '') {
      complain('logFile', 'expected a file name with kind = "log"')
    }
  })
export type PttSection = z.infer<typeof pttSection>
