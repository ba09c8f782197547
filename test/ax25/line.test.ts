import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type Ax25Frame, decodeFrame, encodeFrame } from '../../src/ax25/frame.js'
import { escapeOctets, formatLine, parseLine, unescapeOctets } from '../../src/ax25/line.js'
import { frames, uiFrames } from './arbitraries.js'

const seed = 17

const parsed = (text: string, options = {}): Ax25Frame => {
  const result = parseLine(text, options)
  if (!result.ok) throw new Error(`${text}: ${result.reason}`)
  return result.frame
}

describe('lines', () => {
  it('read as the APRS reference writes third-party headers (ch. 17)', () => {
    const frame = parsed('TE5ST-14>APZ001,WIDE1-1*,WIDE2-1::TE7ST    :Hi Ian{001')
    expect(frame).toMatchObject({
      source: { call: 'TE5ST', ssid: 14 },
      destination: { call: 'APZ001', ssid: 0 },
      path: [
        { address: { call: 'WIDE1', ssid: 1 }, repeated: true },
        { address: { call: 'WIDE2', ssid: 1 }, repeated: false },
      ],
      command: 'command',
      pid: 0xf0,
    })
    expect(Buffer.from(frame.payload).toString()).toBe(':TE7ST    :Hi Ian{001')
  })

  it('UI frames and any octets come back from their line', () => {
    fc.assert(
      fc.property(uiFrames, (frame) => {
        const line = formatLine(frame)
        expect(line).toMatch(/^[\x20-\x7e]*$/)
        expect(parsed(line)).toEqual(frame)
      }),
      { numRuns: 2_000, seed },
    )
  })

  it('frames of every kind come back from their line, but for the C bits of ordinary ones', () => {
    fc.assert(
      fc.property(frames, (frame) => {
        const ordinary =
          frame.control.type === 'UI' && !frame.control.pollFinal && frame.pid === 0xf0
        const back = parsed(formatLine(frame))
        expect(back).toEqual(ordinary ? { ...frame, command: 'command' } : frame)
      }),
      { numRuns: 2_000, seed },
    )
  })

  it('what decodes leniently comes back too', () => {
    const calls = fc.uint8Array({ minLength: 6, maxLength: 6 })
    fc.assert(
      fc.property(calls, calls, fc.nat(15), (first, second, ssid) => {
        const printable = (octet: number): number => (0x20 + (octet % 0x5f)) << 1
        const data = Uint8Array.of(
          ...first.map(printable),
          0xe0,
          ...second.map(printable),
          0x61 | (ssid << 1),
          3,
          0xf0,
        )
        const heard = decodeFrame(data)
        if (!heard.ok) throw new Error(heard.reason)
        expect(encodeFrame(parsed(formatLine(heard.frame), { strict: false }))).toEqual(data)
      }),
      { numRuns: 2_000, seed },
    )
  })

  it('any text gives a frame or a reason', () => {
    const texts = fc.oneof(
      fc.string({ unit: 'binary', maxLength: 60 }),
      fc.string({ unit: fc.constantFrom(...'AB1>,*-:{}=%41control pidff'), maxLength: 40 }),
    )
    fc.assert(
      fc.property(texts, fc.boolean(), (text, strict) => {
        const result = parseLine(text, { strict })
        if (result.ok) encodeFrame(result.frame)
        else if (result.reason === '') throw new Error('no reason')
      }),
      { numRuns: 5_000, seed },
    )
  })

  it.each([
    ['no colon', 'N0CALL>APZ001'],
    ['no arrow', 'N0CALL:hello'],
    ['a bad call', 'N0 CALL>APZ001:hello'],
    ['an SSID above 15', 'N0CALL-16>APZ001:hello'],
    ['nine digipeaters', `N0CALL>APZ001${',WIDE1-1'.repeat(9)}:hello`],
    ['an empty digipeater', 'N0CALL>APZ001,:hello'],
    ['braces that say nothing', 'N0CALL>APZ001{hello}:hello'],
    ['two octets for one', 'N0CALL>APZ001{control=0303,pid=f0}:hello'],
    ['an extension without its PID', 'N0CALL>APZ001{control=03,pid=f0,extension=01}:hello'],
  ])('%s is refused', (_, text) => expect(parseLine(text).ok).toBe(false))

  it('lower case is taken as upper case; a payload may be empty or hold anything', () => {
    expect(formatLine(parsed('n0call-7>apz001,wide1-1:'))).toBe('N0CALL-7>APZ001,WIDE1-1:')
    expect(Buffer.from(parsed('N0CALL>APZ001:a:b>c,d*{e}').payload).toString()).toBe('a:b>c,d*{e}')
  })

  it('a star marks the last that repeated, wherever more stars stand', () => {
    const line = 'N0CALL>APZ001,A*,B*,C:x'
    expect(formatLine(parsed(line))).toBe('N0CALL>APZ001,A,B*,C:x')
  })
})

describe('escapes', () => {
  it('touch nothing printable but a percent sign in front of two hex digits', () => {
    const text = 'humidity 50% at 100%, %4g %g4 %, =4903.50N\\07201.75W_ ~`|{}'
    expect(escapeOctets(Buffer.from(text))).toBe(text)
    expect(escapeOctets(Buffer.from('%41'))).toBe('%2541')
    expect(escapeOctets(Uint8Array.of(0x1c, 0x7f, 0xfc, 0x0d))).toBe('%1C%7F%FC%0D')
  })

  it('are undone whatever the octets, percent signs and hex digits among them', () => {
    const tricky = fc.array(
      fc.oneof(fc.constantFrom(0x25, 0x30, 0x41, 0x66, 0x00, 0xff), fc.nat(255)),
      { maxLength: 12 },
    )
    fc.assert(
      fc.property(tricky, (list) => {
        expect([...unescapeOctets(escapeOctets(Uint8Array.from(list)))]).toEqual(list)
      }),
      { numRuns: 5_000, seed },
    )
  })

  it('characters outside ASCII that somebody types become UTF-8', () => {
    expect(unescapeOctets('ü€😀')).toEqual(new TextEncoder().encode('ü€😀'))
  })
})
