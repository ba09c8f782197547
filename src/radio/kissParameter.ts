import type { ChannelAccess } from './radioPort.js'

/**
 * What a KISS parameter command asks of a radio.
 * @param command 1 TXDELAY, 2 P, 3 SlotTime, 4 TXtail (times in units of 10 ms), 5 FullDuplex
 * @param value the octet that follows the type octet, 0 to 255
 * @returns undefined for a command that is none of these
 * @see Chepponis and Karn, The KISS TNC, 1987, section 4
 */
export function kissParameter(command: number, value: number): Partial<ChannelAccess> | undefined {
  switch (command) {
    case 1:
      return { keyDelayMs: value * 10 }
    case 2:
      return { persistence: value }
    case 3:
      return { slotTimeMs: value * 10 }
    case 4:
      return { tailMs: value * 10 }
    case 5:
      return { fullDuplex: value !== 0 }
    default:
      return undefined
  }
}
