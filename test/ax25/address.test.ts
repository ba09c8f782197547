import { describe, expect, it } from 'vitest'
import {
  formatAddress,
  formatPath,
  parseAddress,
  parsePath,
  sameAddress,
} from '../../src/ax25/address.js'

describe('addresses as text', () => {
  it.each([
    ['N0CALL', 'N0CALL', 0],
    ['n0call-7', 'N0CALL', 7],
    ['A-0', 'A', 0],
    ['ZZ9ZZZ-15', 'ZZ9ZZZ', 15],
  ])('%s', (text, call, ssid) => {
    const address = parseAddress(text)
    expect(address).toEqual({ ok: true, value: { call, ssid } })
    if (address.ok) expect(formatAddress(address.value)).toBe(ssid === 0 ? call : `${call}-${ssid}`)
  })

  it('a refusal says what was wanted', () => {
    const address = parseAddress('N0CALL-16')
    expect(address).toMatchObject({ ok: false })
    expect(!address.ok && address.reason).toMatch(/'N0CALL-16'.*0 to 15/)
  })

  it('reserved bits make no other station', () => {
    const address = { call: 'N0CALL', ssid: 1 }
    expect(sameAddress(address, { ...address, reservedBits: 1 })).toBe(true)
    expect(sameAddress(address, { ...address, ssid: 2 })).toBe(false)
  })
})

describe('paths as text', () => {
  it.each(['', 'WIDE1-1', 'WIDE1-1,WIDE2-1', 'N0CALL,N1CALL-3*,WIDE2-1'])('"%s"', (text) => {
    const path = parsePath(text)
    expect(path.ok && formatPath(path.value)).toBe(text)
  })

  it('bad entries are refused', () => {
    for (const text of ['WIDE1-1,', 'WIDE1-1,,WIDE2-1', '*', 'WIDE1-1 WIDE2-1']) {
      expect(parsePath(text).ok).toBe(false)
    }
  })
})
