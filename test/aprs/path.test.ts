import { describe, expect, it } from 'vitest'
import { hopCount, repeatPath } from '../../src/aprs/path.js'
import { formatAddress, type PathEntry, parsePath } from '../../src/ax25/address.js'

const path = (text: string): PathEntry[] => {
  const parsed = parsePath(text)
  if (!parsed.ok) throw new Error(parsed.reason)
  return parsed.value
}

const names = (addresses: readonly { call: string; ssid: number }[]): string =>
  addresses.map(formatAddress).join(',')

describe('what a path tells', () => {
  it.each([
    ['', 0],
    ['WIDE1-1,WIDE2-1', 2],
    ['WIDE2-2', 2],
    ['N1CALL*,WIDE2-1', 2],
    ['N1CALL,N2CALL', 2],
  ])('"%s" asks for %i hops', (text, hops) => expect(hopCount(path(text))).toBe(hops))

  it('only the first unused address counts', () => {
    const own = { call: 'N0CALL', ssid: 1 }
    expect(repeatPath(path('N0CALL-1,WIDE2-1'), own).repeat).toBe(true)
    expect(repeatPath(path('RIDGE,WIDE2-1'), own).repeat).toBe(false)
    expect(repeatPath(path('N1CALL,N0CALL-1'), own).repeat).toBe(false)
  })

  it('a whole way: WIDE1-1,WIDE2-2 over three digipeaters', () => {
    let now = path('WIDE1-1,WIDE2-2')
    for (const call of ['N1CALL', 'N2CALL', 'N3CALL']) {
      const next = repeatPath(now, { call, ssid: 0 })
      if (!next.repeat) throw new Error(next.reason)
      now = [...next.path]
    }
    expect(names(now.map((entry) => entry.address))).toBe('N1CALL,N2CALL,N3CALL')
    expect(repeatPath(now, { call: 'N4CALL', ssid: 0 }).repeat).toBe(false)
  })
})
