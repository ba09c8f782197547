import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { decodeControl, encodeControl } from '../../src/ax25/control.js'
import { type Ax25Frame, decodeFrame, encodeFrame, uiFrame } from '../../src/ax25/frame.js'
import { frames } from './arbitraries.js'

const seed = 22

const octets = (hex: string): Uint8Array =>
  Uint8Array.from(Buffer.from(hex.replaceAll(' ', ''), 'hex'))

const decoded = (data: Uint8Array, options = {}): Ax25Frame => {
  const result = decodeFrame(data, options)
  if (!result.ok) throw new Error(result.reason)
  return result.frame
}

describe('AX.25 frames', () => {
  it('come back from their octets as they were, read strictly', () => {
    fc.assert(
      fc.property(frames, (frame) => {
        expect(decoded(encodeFrame(frame), { strict: true })).toEqual(frame)
      }),
      { numRuns: 2_000, seed },
    )
  })

  it('100,000 random octet strings never throw, and what decodes encodes to the same octets', () => {
    // Mostly printable characters where call signs are, or next to nothing would decode.
    const addressOctets = fc
      .uint8Array({ minLength: 14, maxLength: 84 })
      .map((data) =>
        data.map((octet, at) =>
          at % 7 === 6 || octet > 253 ? octet : (0x20 + (octet % 0x5f)) << 1,
        ),
      )
    const tails = fc.uint8Array({ maxLength: 6 })
    let decodedCount = 0
    fc.assert(
      fc.property(
        addressOctets,
        tails,
        fc.boolean(),
        fc.boolean(),
        (head, tail, extended, strict) => {
          const data = Uint8Array.of(...head, ...tail)
          const result = decodeFrame(data, { strict, modulo: extended ? 128 : 8 })
          if (!result.ok) return result.reason !== ''
          decodedCount++
          return Buffer.compare(encodeFrame(result.frame), data) === 0
        },
      ),
      { numRuns: 100_000, seed },
    )
    expect(decodedCount).toBeGreaterThan(5_000)
  })

  it('every control octet reads strictly or leniently, and is kept', () => {
    const addresses = '82a0b4606062e0 a88a6aa6a84061'
    for (let octet = 0; octet < 256; octet++) {
      const data = Uint8Array.of(...octets(addresses), octet, 0xf0, 0x41)
      const frame = decoded(data)
      expect(frame.control).toEqual(decodeControl(Uint8Array.of(octet)))
      expect(encodeFrame(frame)).toEqual(data)
      if (frame.control.type === 'U' && frame.control.name === 'unknown') continue
      expect([...encodeControl(frame.control)]).toEqual([octet])
    }
  })

  it('a call sign with a space inside, as one satellite sends, is read leniently only', () => {
    // 'AO27 T': 82 9e 64 6e 40 a8
    const data = octets('82a0b4606062e0 829e646e40a861 03f0 41')
    expect(decoded(data).source).toEqual({ call: 'AO27 T', ssid: 0 })
    expect(encodeFrame(decoded(data))).toEqual(data)
    expect(decodeFrame(data, { strict: true }).ok).toBe(false)
  })

  it('odd frames: no PID, information in an S frame, H bits out of order', () => {
    const addresses = '82a0b4606062e0 a88a6aa6a84060'
    const odd = [
      `82a0b4606062e0 a88a6aa6a84061 03`,
      `82a0b4606062e0 a88a6aa6a84061 03ff`,
      `82a0b4606062e0 a88a6aa6a84061 01 41`,
      `${addresses} a4a0a8624040 62 a4a0a8644040 e5 03f0`,
    ]
    for (const hex of odd) {
      const data = octets(hex)
      expect(encodeFrame(decoded(data))).toEqual(data)
      expect(decodeFrame(data, { strict: true }).ok).toBe(false)
    }
  })

  it('control characters in a call sign are never read', () => {
    expect(decodeFrame(octets('82a0b4606062e0 361a6aa6a84061 03f0')).ok).toBe(false)
  })

  it('modulo 128: two control octets in I and S frames (V22 figures 4.1b, 4.2b, from memory)', () => {
    const addresses = '82a0b4606062e0 a88a6aa6a84061'
    const i = decoded(octets(`${addresses} fe03 f0 41`), { modulo: 128, strict: true })
    expect(i.control).toEqual({ type: 'I', sendSequence: 127, receiveSequence: 1, pollFinal: true })
    expect(i.pid).toBe(0xf0)
    const rej = decoded(octets(`${addresses} 09fe`), { modulo: 128, strict: true })
    expect(rej.control).toEqual({ type: 'S', name: 'REJ', receiveSequence: 127, pollFinal: false })
    for (const frame of [i, rej]) {
      expect(encodeControl(frame.control, 128)).toEqual(frame.controlOctets)
    }
    const ui = decoded(octets(`${addresses} 03f0`), { modulo: 128, strict: true })
    expect(ui.controlOctets).toEqual(Uint8Array.of(3))
    expect(() => encodeControl(i.control, 8)).toThrow(RangeError)
  })

  it('uiFrame takes bare addresses and path entries', () => {
    const source = { call: 'N0CALL', ssid: 7 }
    const destination = { call: 'APZ001', ssid: 0 }
    const wide = { call: 'WIDE1', ssid: 1 }
    const payload = Uint8Array.of(0x3e)
    const frame = uiFrame({
      source,
      destination,
      path: [wide, { address: source, repeated: true }],
      payload,
    })
    expect(frame.path).toEqual([
      { address: wide, repeated: false },
      { address: source, repeated: true },
    ])
    expect(decoded(encodeFrame(uiFrame({ source, destination, payload }))).path).toEqual([])
  })

  it('wrong addresses of our own code throw', () => {
    const destination = { call: 'APZ001', ssid: 0 }
    const payload = new Uint8Array()
    for (const source of [
      { call: 'TOOLONG', ssid: 0 },
      { call: 'N0CÄLL', ssid: 0 },
      { call: 'N0CALL', ssid: 16 },
      { call: 'N0CALL', ssid: 1.5 },
    ]) {
      expect(() => encodeFrame(uiFrame({ source, destination, payload }))).toThrow(RangeError)
    }
    const frame = uiFrame({ source: destination, destination, payload })
    expect(() => encodeFrame({ ...frame, pidExtension: 1 })).toThrow(RangeError)
  })
})
