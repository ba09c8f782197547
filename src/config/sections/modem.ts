import { z } from 'zod'

/** An external KISS modem in place of a sound card: its audio, key line and channel access are its own. */
export const modemSection = z
  .strictObject({
    /** none: this radio is a sound card's; serial or tcp: how the modem is reached */
    kind: z.enum(['none', 'serial', 'tcp']).default('none'),
    /** serial: such as "/dev/ttyUSB0" */
    device: z.string().default(''),
    /** serial: speed of the line, bits a second; the rate on the air is signal.bitRate */
    lineBitRate: z.number().int().min(300).max(4_000_000).default(9600),
    /** serial: "hardware" waits for CTS and asks by RTS; flow control by characters would be taken for data */
    flowControl: z.enum(['none', 'hardware']).default('none'),
    /** tcp: name or address of the machine that the modem is at */
    host: z.string().default(''),
    /** tcp: its port @example 18702 */
    port: z.number().int().min(1).max(65_535).optional(),
    /** the modem's own number for the radio, 0 to 15 */
    modemPort: z.number().int().min(0).max(15).default(0),
    /** lines of text, ended by CR, that are sent before KISS begins: what brings the modem to KISS, as its manual says */
    startup: z.array(z.string().max(200)).max(20).default([]),
    /** a modem that tells nothing for that long is reported, and what is sent is called doubtful, seconds; 0 never */
    silentAfterS: z.number().int().min(0).max(604_800).default(3600),
  })
  .superRefine((modem, context) => {
    const complain = (path: string, message: string): void => {
      context.addIssue({ code: 'custom', path: [path], message })
    }
    if (modem.kind === 'serial' && modem.device === '')
      complain('device', 'expected the serial device of the modem with kind = "serial"')
    if (modem.kind === 'tcp' && modem.host === '')
      complain('host', 'expected the name or address of the modem with kind = "tcp"')
    if (modem.kind === 'tcp' && modem.port === undefined)
      complain('port', 'expected the TCP port of the modem with kind = "tcp"')
  })
export type ModemSection = z.infer<typeof modemSection>
