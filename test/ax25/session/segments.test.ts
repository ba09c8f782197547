import fc from 'fast-check'
import { expect, it } from 'vitest'
import { decodeFrmr } from '../../../src/ax25/session/frmr.js'
import { reassembler, segment } from '../../../src/ax25/session/segments.js'

it('cuts and joins (AX.25 v2.2, 6.6)', () => {
  const payload = fc.uint8Array({ maxLength: 2000 })
  fc.assert(
    fc.property(payload, fc.integer({ min: 17, max: 256 }), fc.nat(255), (octets, max, pid) => {
      const parts = segment({ pid: pid === 8 ? 9 : pid, payload: octets }, max)
      expect(parts.every((one) => one.pid === 8 && one.payload.length <= max)).toBe(true)
      expect(parts.map((one) => one.payload[0]! & 0x7f)).toEqual(
        parts.map((_, index) => parts.length - 1 - index),
      )
      expect(parts.map((one) => one.payload[0]! >> 7)).toEqual(
        parts.map((_, index) => (index === 0 ? 1 : 0)),
      )
      const joiner = reassembler()
      const whole = parts.map((one) => joiner.take(one))
      expect(whole.slice(0, -1).every((one) => one === undefined)).toBe(true)
      expect(whole.at(-1)).toEqual({ pid: pid === 8 ? 9 : pid, payload: octets })
    }),
    { numRuns: 100 },
  )
})

it('gives nothing of a whole that lacks a part, and counts what fits nothing', () => {
  const joiner = reassembler()
  const [first, , third] = segment({ pid: 0xf0, payload: new Uint8Array(100) }, 40)
  expect(joiner.take(first!)).toBeUndefined()
  expect(joiner.take(third!)).toBeUndefined()
  expect(joiner.take({ pid: 8, payload: new Uint8Array() })).toBeUndefined()
  expect(joiner.lostCount).toBe(3)
  const other = { pid: 0xf0, payload: Uint8Array.of(1) }
  expect(joiner.take(other)).toBe(other)
})

it('does not cut into more than 128', () => {
  expect(() => segment({ pid: 0xf0, payload: new Uint8Array(3000) }, 20)).toThrow(RangeError)
})

// AX.25 v2.0, 2.4.3.5 (layout from memory)
it('reads what a frame reject says', () => {
  expect(decodeFrmr(Uint8Array.of(0x7f, 0x54, 0x01), 8)).toEqual({
    ok: true,
    value: {
      control: { type: 'U', name: 'SABME', pollFinal: true },
      ...{ wasResponse: true, receiveNext: 2, sendNext: 2, reasons: ['control field unknown'] },
    },
  })
  expect(decodeFrmr(Uint8Array.of(0x04, 0x06, 0x0c, 0x0a, 0x08), 128)).toMatchObject({
    value: {
      control: { type: 'I', sendSequence: 2, receiveSequence: 3 },
      ...{ wasResponse: false, receiveNext: 5, sendNext: 6, reasons: ['N(R) out of range'] },
    },
  })
  expect(decodeFrmr(Uint8Array.of(0x7f), 8)).toMatchObject({ ok: false })
})
