import type { Clock } from '../runtime/clock.js'
import { openCommandOutput } from './commandOutput.js'
import { openGpioOutput } from './gpioOutput.js'
import { openHidOutput } from './hidOutput.js'
import { noneOutput } from './noneOutput.js'
import type { PttOptions, PttOutput } from './pttOutput.js'

/**
 * The output of a configuration, driven to unkeyed. Its log is the business of who owns it.
 * @param nice the priority of this process
 * @throws Failure when the device is missing or does not do what it should
 */
export async function openPttOutput(
  options: PttOptions,
  clock: Clock,
  nice = 0,
): Promise<PttOutput> {
  const { kind, device, line, activeLow } = options
  switch (kind) {
    case 'none':
    case 'log':
      return noneOutput()
    case 'serial': {
      // Loaded only where it is used: the driver is the larger part of the helper's memory and of its start.
      const { openSerialOutput } = await import('./serialOutput.js')
      return openSerialOutput({ device, line: typeof line === 'string' ? line : 'rts', activeLow })
    }
    case 'gpio':
      return openGpioOutput({ chip: device, line: Number(line), activeLow }, clock)
    case 'hid':
      return openHidOutput({ device, pin: typeof line === 'number' ? line : 3, activeLow })
    case 'command':
      return openCommandOutput(options, clock, nice)
  }
}
