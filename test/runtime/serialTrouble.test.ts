import { describe, expect, it } from 'vitest'
import { serialTrouble } from '../../src/runtime/serialTrouble.js'

describe('trouble of a serial line', () => {
  it.each([
    ['Error: No such file or directory, cannot open /dev/ttyUSB0', 'No such file or directory'],
    ['Error: Permission denied, cannot open /dev/tty with, comma', 'Permission denied'],
    [
      'Error Resource temporarily unavailable Cannot lock port',
      'Resource temporarily unavailable Cannot lock port',
    ],
    [
      'Reading from COM port (ReadIOCompletion): gone',
      'Reading from COM port (ReadIOCompletion): gone',
    ],
  ])('%s', (said, told) => expect(serialTrouble(new Error(said))).toBe(told))
})
