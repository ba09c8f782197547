import { describe, expect, it } from 'vitest'
import { parsePath } from '../../src/ax25/address.js'
import { repeatedVia, replyPath } from '../../src/node/replyPath.js'

const viaOf = (text: string): string[] => {
  const parsed = parsePath(text)
  if (!parsed.ok) throw new Error(parsed.reason)
  return repeatedVia(parsed.value)
}
const configuredPath = ['WIDE1-1']

describe('the way back', () => {
  it.each([
    ['', '', ''],
    ['WIDE1-1,WIDE2-1', '', ''],
    ['N1CALL*,WIDE2-1', 'N1CALL', 'N1CALL'],
    ['N1CALL,N2CALL*,WIDE2-1', 'N1CALL,N2CALL', 'N2CALL,N1CALL'],
    // Used-up aliases that some digipeaters leave in the path are no stations.
    ['N1CALL,WIDE1,N2CALL,WIDE2*', 'N1CALL,WIDE1,N2CALL,WIDE2', 'N2CALL,N1CALL'],
    // A digipeater that leaves no call of its own: repeated, but nobody knows by whom.
    ['WIDE1*,WIDE2-1', 'WIDE1', 'WIDE1-1'],
    ['N1CALL,N2CALL,N1CALL*', 'N1CALL,N2CALL,N1CALL', 'N1CALL,N2CALL'],
  ])('"%s"', (text, via, back) => {
    expect(viaOf(text).join()).toBe(via)
    expect(replyPath(viaOf(text), { path: 'reverse', configuredPath }).join()).toBe(back)
  })

  it('as configured, but never through digipeaters to somebody who was heard direct', () => {
    const options = { path: 'configured', configuredPath } as const
    expect(replyPath(viaOf('N1CALL*'), options)).toEqual(configuredPath)
    expect(replyPath([], options)).toEqual([])
    expect(replyPath(['direct'], options)).toEqual([])
  })
})
