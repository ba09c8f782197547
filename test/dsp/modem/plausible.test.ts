import { describe, expect, it } from 'vitest'
import { isPlausibleFrame, isPlausibleRepair } from '../../../dsp/modem/plausible.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { testFrame } from './receiving.js'

const frame = (): Uint8Array => testFrame(40, seededRandom(5))
const changed = (at: number, octet: number): Uint8Array => {
  const octets = frame()
  octets[at] = octet
  return octets
}

describe('plausible repair', () => {
  it('accepts what people send', () => {
    expect(isPlausibleRepair(frame())).toBe(true)
    // UTF-8 of a letter with an accent (RFC 3629), and a line end.
    const text = frame()
    text.set([0xc3, 0xa9, 0x0d], 20)
    expect(isPlausibleRepair(text)).toBe(true)
  })

  // AX.25 2.2 sections 3.12 (addresses), 4.2 (control) and 3.4 (PID).
  it.each([
    ['a lower-case call', changed(7, 0x74 << 1)],
    ['an extension bit inside a call', changed(8, (0x45 << 1) | 1)],
    ['a space inside a call', changed(8, 0x20 << 1)],
    ['no end of the addresses', changed(13, 0x60)],
    ['a control octet that does not exist', changed(14, 0xff)],
    ['an unknown PID', changed(15, 0x22)],
    ['an odd octet in the text', changed(30, 0xff)],
    ['a control character in the text', changed(30, 0x02)],
    ['half of a UTF-8 character', changed(30, 0xc3)],
    ['addresses and nothing more', frame().slice(0, 14)],
    ['nothing', new Uint8Array(0)],
  ])('refuses %s', (_what, octets) => {
    expect(isPlausibleRepair(octets)).toBe(false)
  })

  it('of random octets almost nothing passes', () => {
    const random = seededRandom(6)
    let passed = 0
    for (let trial = 0; trial < 100_000; trial++)
      if (isPlausibleRepair(Uint8Array.from({ length: 30 }, () => Math.floor(random() * 256))))
        passed++
    expect(passed).toBe(0)
  })
})

describe('plausible address fields (AX.25 2.2 section 3.12)', () => {
  const frame = testFrame(5, seededRandom(1))

  it('two addresses and a control octet are enough', () => {
    expect(isPlausibleFrame(frame)).toBe(true)
    expect(isPlausibleFrame(frame.subarray(0, 15))).toBe(true)
  })

  it('no end of the addresses, an end within one, one address, eleven, or nothing after them are not', () => {
    const ending = (at: number, length: number): Uint8Array => {
      const octets = new Uint8Array(length).fill(0x40)
      octets[at] = 0x41
      return octets
    }
    expect(isPlausibleFrame(new Uint8Array(40).fill(0x40))).toBe(false)
    expect(isPlausibleFrame(ending(12, 40))).toBe(false)
    expect(isPlausibleFrame(ending(6, 40))).toBe(false)
    expect(isPlausibleFrame(ending(76, 90))).toBe(false)
    expect(isPlausibleFrame(frame.subarray(0, 14))).toBe(false)
    expect(isPlausibleFrame(ending(69, 71))).toBe(true)
  })
})
