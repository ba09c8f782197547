import type { PttSection } from './sections/ptt.js'

/**
 * What makes a key line the same as another; undefined where nothing is driven. A serial port or a USB chip is one line here
 * whatever its pins: who opens or writes it releases the other's pin.
 * @param deviceAs a device's name as it is to be compared, such as the one behind a link
 */
export function keyLineOf(
  { kind, device, line, keyCommand }: PttSection,
  deviceAs: (device: string) => string = (name) => name,
): string | undefined {
  switch (kind) {
    case 'none':
    case 'log':
      return undefined
    case 'command':
      return JSON.stringify([kind, ...keyCommand])
    case 'gpio':
      return JSON.stringify([kind, deviceAs(device), line])
    default:
      return JSON.stringify([kind, deviceAs(device)])
  }
}
