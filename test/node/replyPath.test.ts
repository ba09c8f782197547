import { describe, expect, it } from 'vitest'
import { parsePath } from '../../src/ax25/address.js'
import { repeatedVia, replyPath } from '../../src/node/replyPath.js'

const viaOf = (text: string): string[] => {
  const parsed = parsePath(text)
  if (!parsed.ok) throw new Error(parsed.reason)
  return repeatedVia(parsed.value)
}
const configuredPath = ['WIDE1-1']
const own = 'N0DE-10'

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
    // What the node repeated itself came to it by what stands in front.
    ['N1CALL,N0DE-10,N2CALL*', 'N1CALL,N0DE-10,N2CALL', 'N1CALL'],
    ['N0DE-10*', 'N0DE-10', ''],
  ])('"%s"', (text, via, back) => {
    expect(viaOf(text).join()).toBe(via)
    expect(replyPath(viaOf(text), { path: 'reverse', configuredPath }, own).join()).toBe(back)
  })

  it.each(['', 'A B', ' N1CAL', 'DIG/1', 'n1call', '{N1', 'N0-1'])(
    '"%s" is no name of a digipeater',
    (call) => {
      const bad = { address: { call, ssid: 1 }, repeated: true }
      const good = { address: { call: 'N1CALL', ssid: 0 }, repeated: true }
      expect(repeatedVia([bad])).toEqual(['?'])
      expect(repeatedVia([good, bad, good])).toEqual(['N1CALL', '?', 'N1CALL'])
      const options = { path: 'reverse', configuredPath } as const
      expect(replyPath(repeatedVia([good, bad]), options, own)).toEqual(configuredPath)
      // as an older database may have it
      expect(replyPath([`${call}-1`], options, own)).toEqual(configuredPath)
      expect(replyPath(['N1CALL', `${call}-1`], options, own)).toEqual(configuredPath)
    },
  )

  it.each([
    ['RELAY', ''],
    ['TRACE', ''],
    ['WIDE7', ''],
    ['NOGATE', ''],
    // calls of stations that only begin or end alike
    ['XWIDE1', 'XWIDE1'],
    ['WIDE12', 'WIDE12'],
    ['GATE1A', 'GATE1A'],
  ])('through %s alone is through "%s", or nobody knows the way', (name, back) => {
    const options = { path: 'reverse', configuredPath } as const
    expect(replyPath([name], options, own)).toEqual(back === '' ? configuredPath : [back])
  })

  it('has eight digipeaters at most, the nearest to us first', () => {
    const names = ['Q1A', 'Q2A', 'Q3A', 'Q4A', 'Q5A', 'Q6A', 'Q7A', 'Q8A', 'Q9A']
    const options = { path: 'reverse', configuredPath } as const
    expect(replyPath(names, options, own)).toEqual([
      ...['Q9A', 'Q8A', 'Q7A', 'Q6A', 'Q5A', 'Q4A', 'Q3A', 'Q2A'],
    ])
  })

  it('never through the node itself', () => {
    const options = { path: 'configured', configuredPath: ['N0DE-10', 'WIDE1-1'] } as const
    expect(replyPath(['N1CALL'], options, own)).toEqual(['WIDE1-1'])
    expect(replyPath(['?'], { ...options, path: 'reverse' }, own)).toEqual(['WIDE1-1'])
  })

  it('as configured, but never through digipeaters to somebody who was heard direct', () => {
    const options = { path: 'configured', configuredPath } as const
    expect(replyPath(viaOf('N1CALL*'), options, own)).toEqual(configuredPath)
    expect(replyPath([], options, own)).toEqual([])
    expect(replyPath(['direct'], options, own)).toEqual([])
  })
})
