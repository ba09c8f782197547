// Digipeating: AX.25 2.2 (revision 4), 3.12.3 to 3.12.5; recommendations of 2005 for APRS channels and regional pages that
// repeat them, read in excerpts; own call in front of the alias is common practice, no source. The table was computed by hand
// by these rules, before the code was written, by another hand; * marks the H bit.
import { describe, expect, it } from 'vitest'
import { formatAddress, parseAddress } from '../../src/ax25/address.js'
import { type Ax25Frame, decodeFrame, encodeFrame } from '../../src/ax25/frame.js'
import { parseLine } from '../../src/ax25/line.js'
import { copyWindowMs } from '../../src/node/digipeater/digipeater.js'
import {
  carriesOurs,
  decideRepeat,
  type RepeatRules,
} from '../../src/node/digipeater/repeatRules.js'

const address = (text: string) => {
  const parsed = parseAddress(text)
  if (!parsed.ok) throw new Error(parsed.reason)
  return parsed.value
}

const rules = (own: string, change: Partial<RepeatRules> = {}): RepeatRules => ({
  ...{ own: address(own), aliases: [], kind: 'wide', widestN: 2, beyond: 'refuse' },
  ...{ outOfTurn: false, ...change },
})

function frame(path: string, source = 'Q7CAR-9'): Ax25Frame {
  const parsed = parseLine(`${source}>APZ001${path === '' ? '' : `,${path}`}:>on the road`)
  if (!parsed.ok) throw new Error(parsed.reason)
  return parsed.frame
}

function sent(path: string, own: RepeatRules, source?: string): string {
  const decision = decideRepeat(frame(path, source), own)
  if (!decision.repeat) return 'nothing'
  return decision.path
    .map(({ address, repeated }) => `${formatAddress(address)}${repeated ? '*' : ''}`)
    .join()
}

describe('paths heard and sent (worked by hand)', () => {
  const wide = (own: string) => rules(own)
  const fillIn = (own: string) => rules(own, { kind: 'fill-in' })
  it.each<[string, RepeatRules, string, string]>([
    ['Q1HILL (wide)', wide('Q1HILL'), 'WIDE1-1,WIDE2-1', 'Q1HILL*,WIDE1*,WIDE2-1'],
    ['Q2PEAK (wide)', wide('Q2PEAK'), 'Q1HILL*,WIDE1*,WIDE2-1', 'Q1HILL*,WIDE1*,Q2PEAK*,WIDE2*'],
    ['Q3END (wide)', wide('Q3END'), 'Q1HILL*,WIDE1*,Q2PEAK*,WIDE2*', 'nothing'],
    ['Q1HILL (fill-in)', fillIn('Q1HILL'), 'WIDE2-2', 'nothing'],
    ['Q1HILL (fill-in)', fillIn('Q1HILL'), 'WIDE1-1,WIDE2-1', 'Q1HILL*,WIDE1*,WIDE2-1'],
    ['Q1HILL (wide)', wide('Q1HILL'), 'WIDE2-2', 'Q1HILL*,WIDE2-1'],
    ['Q1HILL (wide, n up to 2)', wide('Q1HILL'), 'WIDE7-7', 'nothing'],
    ['Q1HILL (cut)', rules('Q1HILL', { beyond: 'cut' }), 'WIDE7-7', 'Q1HILL*,WIDE2-1'],
    ['Q1HILL (wide)', wide('Q1HILL'), 'WIDE2-3', 'nothing'],
    ['Q1HILL', wide('Q1HILL'), 'Q9OTHR,WIDE2-1', 'nothing'],
    ['Q1HILL', wide('Q1HILL'), 'Q1HILL,WIDE2-1', 'Q1HILL*,WIDE2-1'],
    ['Q1HILL', wide('Q1HILL'), 'Q1HILL*,WIDE2-1', 'nothing'],
  ])('%s', (_, own, heard, expected) => {
    expect(sent(heard, own)).toBe(expected)
  })

  it.each(['RELAY', 'WIDE', 'TRACE', 'TRACE2-2', 'WIDE8-1', 'WIDE2', 'WIDE1'])(
    'nobody repeats %s any more, or an alias that is used up',
    (alias) => {
      expect(sent(alias, wide('Q1HILL'))).toBe('nothing')
      expect(sent(alias, rules('Q1HILL', { beyond: 'cut', widestN: 7 }))).toBe('nothing')
    },
  )

  it('a duplicate is one for 28 to 30 s', () => {
    expect(copyWindowMs).toBeGreaterThanOrEqual(28_000)
    expect(copyWindowMs).toBeLessThanOrEqual(30_000)
  })
})

describe('at the limits', () => {
  const eight = 'A1A*,B1B*,C1C*,D1D*,E1E*,F1F*,G1G*'
  it('eight addresses are taken: the alias is counted down, and nothing put in front', () => {
    expect(sent(`${eight},WIDE2-2`, rules('Q1HILL'))).toBe(`${eight},WIDE2-1`)
    expect(sent(`${eight},WIDE2-1`, rules('Q1HILL'))).toBe(`${eight},WIDE2*`)
    expect(sent(`${eight},Q1HILL`, rules('Q1HILL'))).toBe(`${eight},Q1HILL*`)
    expect(sent(`${eight.slice(5)},WIDE2-2`, rules('Q1HILL'))).toBe(
      `${eight.slice(5)},Q1HILL*,WIDE2-1`,
    )
  })

  it.each([1, 2, 3, 7])('n up to %i', (widestN) => {
    const own = rules('Q1HILL', { widestN })
    expect(sent(`WIDE${widestN}-1`, own)).not.toBe('nothing')
    if (widestN < 7) expect(sent(`WIDE${widestN + 1}-1`, own)).toBe('nothing')
    // N above n is no hop count
    if (widestN < 7) expect(sent(`WIDE${widestN}-${widestN + 1}`, own)).toBe('nothing')
  })

  it('cut: what is left is counted from the limit, for an N below it from N', () => {
    const own = rules('Q1HILL', { beyond: 'cut' })
    expect(sent('WIDE5-5', own)).toBe('Q1HILL*,WIDE2-1')
    expect(sent('WIDE5-1', own)).toBe('Q1HILL*,WIDE2*')
  })

  it('a fill-in cuts nothing', () => {
    expect(sent('WIDE7-7', rules('Q1HILL', { kind: 'fill-in', beyond: 'cut' }))).toBe('nothing')
  })

  it('a further name of ours, the SSID, and the first unused address decide', () => {
    const own = rules('Q1HILL-3', { aliases: [address('VALLEY')] })
    expect(sent('VALLEY,WIDE2-1', own)).toBe('Q1HILL-3*,VALLEY*,WIDE2-1')
    expect(sent('Q1HILL,WIDE2-1', own)).toBe('nothing')
    expect(sent('Q1HILL-3', own)).toBe('Q1HILL-3*')
  })

  it('out of turn only where it is configured; who was left out is not said to have repeated', () => {
    expect(sent('Q9OTHR,Q1HILL,WIDE2-1', rules('Q1HILL'))).toBe('nothing')
    const own = rules('Q1HILL', { outOfTurn: true })
    expect(sent('Q9OTHR,Q1HILL,WIDE2-1', own)).toBe('Q1HILL*,WIDE2-1')
    expect(sent('Q8A*,Q9OTHR,Q1HILL', own)).toBe('Q8A*,Q1HILL*')
  })

  it('never our own frame, without a path, or with H bits out of order', () => {
    expect(sent('WIDE1-1', rules('Q7CAR-9'))).toBe('nothing')
    expect(sent('', rules('Q1HILL'))).toBe('nothing')
    const wrong = { ...frame('WIDE2-2,Q5X*') }
    expect(decideRepeat(wrong, rules('Q1HILL'))).toMatchObject({ repeat: false })
  })

  it('a digipeater field that is not a call sign stops it, wherever it stands', () => {
    for (const call of ['', 'a b', 'DIG/1', 'dig', 'Q 1'])
      for (const repeated of [true, false]) {
        const odd = { address: { call, ssid: 1 }, repeated }
        const good = frame('WIDE2-2').path
        const path = repeated ? [odd, ...good] : [...good, odd]
        expect(decideRepeat({ ...frame('WIDE2-2'), path }, rules('Q1HILL')).repeat).toBe(false)
      }
  })

  it('nothing but the path changes', () => {
    const before = frame('WIDE1-1,WIDE2-1')
    const decision = decideRepeat(before, rules('Q1HILL'))
    if (!decision.repeat) throw new Error(decision.reason)
    const after = decodeFrame(encodeFrame({ ...before, path: decision.path }), { strict: true })
    if (!after.ok) throw new Error(after.reason)
    expect({ ...after.frame, path: [] }).toEqual({ ...before, path: [] })
  })
})

describe('third-party frames', () => {
  const carries = (text: string) => carriesOurs(Buffer.from(text, 'latin1'), 'Q1HILL')
  it('ours never go round', () => {
    expect(carries('}Q1HILL>APZ001:>from us')).toBe(true)
    expect(carries('}Q7CAR-9>APZ001,Q1HILL*:>through us')).toBe(true)
    expect(carries('}Q7CAR-9>APZ001,TCPIP*:}Q8X>APZ001,Q1HILL*:>twice wrapped')).toBe(true)
    expect(carries('}q7car>apz001,q1hill*:>lower case')).toBe(true)
  })
  it('others may', () => {
    expect(carries('}Q7CAR-9>APZ001,Q1HILL-3*:>another SSID')).toBe(false)
    expect(carries('>Q1HILL is fine')).toBe(false)
    expect(carries('}no header at all')).toBe(false)
    expect(carries(`${'}'.repeat(256)}`)).toBe(false)
  })
})
