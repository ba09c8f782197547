import { closeSync, constants, openSync, writeSync } from 'node:fs'
import { orFailure } from '../runtime/orFailure.js'
import type { PttOutput } from './pttOutput.js'

/**
 * Output report of the CM108 family of USB audio chips: five octets as the host's HID interface takes them,
 * the (absent) report's number first, then HID_OR0 to HID_OR3.
 * @param outputPins GPIO pins, 1 to 4, to drive; the others are released to inputs
 * @param highPins of these, the ones at the high level
 * @see C-Media data sheets CM108B rev 1.11 (pages 17-18), CM108AH rev 2.1 (pages 20-21), CM119B (page 22): OR0 = 0 hands the
 *   pins to OR1 (levels) and OR2 (directions), bit n-1 for GPIO n. The leading octet: from memory of host HID interfaces.
 */
export function outputReport(
  outputPins: readonly number[],
  highPins: readonly number[],
): Uint8Array {
  return Uint8Array.of(0, 0, pinBits(highPins), pinBits(outputPins), 0)
}

/**
 * A GPIO pin of a USB audio chip, through the raw HID device. The pin is written low (or high, when active low)
 * before anything else, and again at the end; the chip itself keeps its pins when nobody writes.
 * @param options.pin 1 to 4; pin 3 keys most interfaces (common practice, no source)
 * @throws Failure 'ptt-hid' when the device cannot be opened or written
 */
export function openHidOutput(options: {
  device: string
  pin: number
  activeLow: boolean
}): PttOutput {
  const { device, pin, activeLow } = options
  if (!(pin >= 1 && pin <= 4)) throw new RangeError(`HID GPIO pin: got ${pin}, expected 1 to 4`)
  const about = {
    code: 'ptt-hid',
    subject: device,
    cannotBe: 'opened',
    advice: 'check ptt.device, and that the user may write it',
  } as const
  // Never created, never cut: a device that is gone must be an error, not a new file.
  const handle = orFailure(about, () => openSync(device, constants.O_WRONLY))
  const set = (on: boolean): void => {
    const report = outputReport([pin], on !== activeLow ? [pin] : [])
    orFailure(about, () => writeSync(handle, report))
  }
  try {
    set(false)
  } catch (failure) {
    closeSync(handle)
    throw failure
  }
  return {
    name: `USB audio HID ${device} GPIO${pin}${activeLow ? ', active low' : ''}`,
    key: () => set(true),
    unkey: () => set(false),
    async close() {
      try {
        set(false)
      } finally {
        closeSync(handle)
      }
    },
  }
}

const pinBits = (pins: readonly number[]): number =>
  pins.reduce((bits, pin) => bits | (1 << (pin - 1)), 0)
