// Source: C-Media data sheets CM108B rev 1.11 (pages 17-18 of 24), CM108AH rev 2.1 (pages 20-21), CM109 1.3a (pages 18-20) and
// CM119B (page 22): HID_OR0 = 0 hands the pins to HID_OR1 (levels of GPIO4..GPIO1 in bits 3-0) and HID_OR2 (1 = output).
// The rows are computed from those tables; the leading octet of a host's write, the absent report id, is from memory.
import { describe, expect, it } from 'vitest'
import { outputReport } from '../../src/ptt/hidOutput.js'

const rows: readonly {
  readonly action: string
  readonly outputs: readonly number[]
  readonly high: readonly number[]
  readonly octets: string
}[] = [
  { action: 'GPIO1 high, as output', outputs: [1], high: [1], octets: '00 00 01 01 00' },
  { action: 'GPIO1 low', outputs: [1], high: [], octets: '00 00 00 01 00' },
  { action: 'GPIO3 high', outputs: [3], high: [3], octets: '00 00 04 04 00' },
  { action: 'GPIO3 low', outputs: [3], high: [], octets: '00 00 00 04 00' },
  { action: 'GPIO4 high', outputs: [4], high: [4], octets: '00 00 08 08 00' },
  { action: 'GPIO3 and 4 outputs, 3 high', outputs: [3, 4], high: [3], octets: '00 00 04 0c 00' },
  { action: 'all released to inputs', outputs: [], high: [], octets: '00 00 00 00 00' },
]

describe('output reports of USB audio chips', () => {
  it.each(rows)('$action', ({ outputs, high, octets }) => {
    expect(Buffer.from(outputReport(outputs, high)).toString('hex')).toBe(
      octets.replaceAll(' ', ''),
    )
  })
})
