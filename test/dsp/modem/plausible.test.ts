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

  // 0x2F is the slash and 0x3A the colon, on either side of the digits; 0x40 and 0x5B on either side of the letters.
  it.each([
    ['09AZ', true],
    ['A/', false],
    ['A:', false],
    ['A@', false],
    ['A[', false],
    [' A', false],
    ['', false],
    ['ABCDEF', true],
    ['ABCDE ', true],
    ['A B', false],
  ])('call %j: %s', (call, isCall) => {
    const octets = frame()
    octets.set(
      [...call.padEnd(6)].map((letter) => letter.charCodeAt(0) << 1),
      7,
    )
    expect(isPlausibleRepair(octets)).toBe(isCall)
  })

  // AX.25 2.2 section 4.2 (S frames), figure 4.4 (U frames), section 6.3 (I frames have a PID and text): each with P/F and without.
  it.each([
    ['RR', 0x21],
    ['RNR', 0x45],
    ['REJ', 0x69],
    ['SREJ', 0x8d],
    ['SABME', 0x6f],
    ['SABM', 0x2f],
    ['DISC', 0x43],
    ['DM', 0x0f],
    ['UA', 0x63],
    ['FRMR', 0x87],
    ['XID', 0xaf],
    ['TEST', 0xe3],
  ])('%s stands without a PID', (_name, control) => {
    for (const poll of [0, 0x10]) {
      const octets = frame().subarray(0, 15)
      octets[14] = control | poll
      expect(isPlausibleRepair(octets)).toBe(true)
    }
  })

  it('an I frame needs a PID, and one without layer 3 a text', () => {
    for (const control of [0x00, 0x10, 0x22, 0xee]) {
      const octets = frame()
      octets[14] = control
      expect(isPlausibleRepair(octets)).toBe(true)
      expect(isPlausibleRepair(octets.subarray(0, 15))).toBe(false)
      octets[15] = 0x22
      expect(isPlausibleRepair(octets)).toBe(false)
    }
  })

  it.each([0x01, 0x06, 0x07, 0x08, 0xc3, 0xc4, 0xca, 0xcb, 0xcc, 0xcd, 0xce, 0xcf])(
    'PID %i may carry any octets',
    (pid) => {
      const octets = changed(15, pid)
      octets.fill(0x02, 20)
      expect(isPlausibleRepair(octets)).toBe(true)
    },
  )

  const withText = (text: readonly number[]): Uint8Array =>
    Uint8Array.of(...frame().subarray(0, 16), ...text)

  // RFC 3629 section 4: the first and the last leading octet of each length, each behind a letter and before one.
  it.each([
    ['no text at all', []],
    ['line ends, a tabulator, an end mark', [0x0a, 0x0d, 0x09, 0x00]],
    ['0x1C, the first of a compressed position', [0x1c, 0x7f, 0x7e]],
    ['U+0080', [0x41, 0xc2, 0x80, 0x41]],
    ['U+07FF', [0x41, 0xdf, 0xbf, 0x41]],
    ['U+0800', [0x41, 0xe0, 0xa0, 0x80, 0x41]],
    ['U+FFFF', [0x41, 0xef, 0xbf, 0xbf, 0x41]],
    ['U+10000', [0x41, 0xf0, 0x90, 0x80, 0x80, 0x41]],
    ['U+10FFFF', [0x41, 0xf4, 0x8f, 0xbf, 0xbf]],
  ])('takes %s', (_what, text) => {
    expect(isPlausibleRepair(withText(text))).toBe(true)
  })

  it.each([
    ['0x1B', [0x1b]],
    ['0x0B', [0x41, 0x0b]],
    ['a continuation by itself', [0x80, 0x41]],
    ['two of them', [0x80, 0x80, 0x41]],
    ['three of them', [0x80, 0x80, 0x80, 0x41]],
    ['four of them', [0xbf, 0xbf, 0xbf, 0xbf]],
    ['0xC1, which would be too long a form', [0xc1, 0x80, 0x41]],
    ['0xF5, beyond the last character', [0xf5, 0x80, 0x80, 0x80]],
    ['0xFF', [0xff, 0x80, 0x80, 0x80]],
    ['one octet of two', [0xc3]],
    ['two octets of three, and a letter', [0xe2, 0x82, 0x41]],
    ['two octets of three at the end', [0xef, 0xbf]],
    ['one octet of three', [0xe0, 0x41, 0x80]],
    ['three octets of four, and a letter', [0xf0, 0x90, 0x80, 0x41]],
    ['three octets of four at the end', [0xf4, 0x8f, 0xbf]],
    ['a leading octet in place of a continuation', [0xc3, 0xc3, 0xa9]],
  ])('refuses %s', (_what, text) => {
    expect(isPlausibleRepair(withText(text))).toBe(false)
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
    expect(isPlausibleFrame(ending(13, 40))).toBe(true)
    expect(isPlausibleFrame(ending(14, 40))).toBe(false)
    expect(isPlausibleFrame(ending(19, 40))).toBe(false)
    expect(isPlausibleFrame(ending(76, 90))).toBe(false)
    expect(isPlausibleFrame(frame.subarray(0, 14))).toBe(false)
    expect(isPlausibleFrame(ending(69, 71))).toBe(true)
  })
})
