import { describe, expect, it } from 'vitest'
import { parseAddress } from '../../../src/ax25/address.js'
import type { Ax25Frame } from '../../../src/ax25/frame.js'
import { parseLine } from '../../../src/ax25/line.js'
import {
  carriesOurs,
  decideRepeat,
  type RepeatRules,
} from '../../../src/node/digipeater/repeatRules.js'

const own = { call: 'Q1HILL', ssid: 0 }
const rules = (change: Partial<RepeatRules> = {}): RepeatRules => ({
  ...{ own, aliases: [{ call: 'VALLEY', ssid: 0 }], kind: 'wide', widestN: 2 },
  ...{ beyond: 'refuse', outOfTurn: false, ...change },
})

function frame(path: string, source = 'Q7CAR-9'): Ax25Frame {
  const parsed = parseLine(`${source}>APZ001${path === '' ? '' : `,${path}`}:>on the road`)
  if (!parsed.ok) throw new Error(parsed.reason)
  return parsed.frame
}

const entry = (text: string, repeated: boolean) => {
  const parsed = parseAddress(text)
  if (!parsed.ok) throw new Error(parsed.reason)
  return { address: parsed.value, repeated }
}

describe('why a frame is not repeated', () => {
  const fillIn: Partial<RepeatRules> = { kind: 'fill-in' }
  it.each<[string, string, Partial<RepeatRules>?]>([
    ['', 'no digipeater is asked for'],
    ['Q2PEAK*,WIDE2*', 'its path is used up'],
    ['Q1HILL*,WIDE2-1', 'it came through us already'],
    ['Q9OTHR', 'its next digipeater is another one'],
    ['Q1HILL-1', 'its next digipeater is another one'],
    ['AWIDE1-1', 'its next digipeater is another one'],
    ['WIDE1A-1', 'its next digipeater is another one'],
    ['WIDE8-1', 'its next digipeater is another one'],
    ['WIDE0-1', 'its next digipeater is another one'],
    ['Q9OTHR,Q1HILL', 'its next digipeater is another one'],
    ['WIDE2', 'its alias is used up'],
    ['WIDE1-2', 'N is above n in its alias'],
    ['WIDE2-1', 'a fill-in repeats WIDE1-1 only', fillIn],
    ['WIDE1', 'its alias is used up', fillIn],
    ['WIDE3-3', 'its alias asks for more than WIDE2'],
    ['WIDE3-3', 'its alias asks for more than WIDE1', { widestN: 1 }],
  ])('%s: %s', (path, reason, change) => {
    expect(decideRepeat(frame(path), rules(change))).toEqual({ repeat: false, reason })
  })

  it('ours, with a call that is none, with H bits out of order, with nine digipeaters, of a connection', () => {
    const good = frame('WIDE2-1')
    const reasonOf = (change: Partial<Ax25Frame>) => {
      const decision = decideRepeat({ ...good, ...change }, rules())
      return decision.repeat ? decision.path : decision.reason
    }
    expect(reasonOf({ source: own })).toBe('our own frame')
    const odd = { address: { call: 'a b', ssid: 0 }, repeated: true }
    expect(reasonOf({ path: [odd, ...good.path] })).toBe('a digipeater field is not a call sign')
    const late = [entry('WIDE2-2', false), entry('Q5X', true)]
    expect(reasonOf({ path: late })).toBe('its H bits are out of order')
    const eight = ['A', 'B', 'C', 'D', 'E', 'F', 'G', 'H'].map((call) => entry(call, true))
    expect(reasonOf({ path: [...eight, entry('WIDE2-1', false)] })).toBe('more than 8 digipeaters')
    const control = { type: 'U', name: 'SABM', pollFinal: true } as const
    expect(reasonOf({ control })).toBe('a frame of a connection is repeated by name only')
    expect(reasonOf({ control, path: [entry('VALLEY', false)] })).toEqual([entry('VALLEY', true)])
  })
})

describe('how a frame is repeated', () => {
  it.each<[string, boolean, string[], Partial<RepeatRules>?]>([
    ['Q1HILL', true, ['Q1HILL*']],
    ['VALLEY,WIDE2-1', true, ['Q1HILL*', 'VALLEY*', 'WIDE2-1']],
    ['Q2PEAK*,WIDE2-1,Q3X', false, ['Q2PEAK*', 'Q1HILL*', 'WIDE2*', 'Q3X']],
    ['WIDE1-1', false, ['Q1HILL*', 'WIDE1*'], { kind: 'fill-in' }],
    ['WIDE2-2', false, ['Q1HILL*', 'WIDE2-1']],
    ['WIDE7-7', false, ['Q1HILL*', 'WIDE2-1'], { beyond: 'cut' }],
    ['Q8A*,Q9OTHR,VALLEY', true, ['Q8A*', 'Q1HILL*', 'VALLEY*'], { outOfTurn: true }],
    ['VALLEY*,Q1HILL', true, ['VALLEY*', 'Q1HILL*']],
    ['WIDE2-1', false, ['Q1HILL*', 'WIDE2*'], { outOfTurn: true }],
    ['A*,B*,C*,D*,E*,F*,G*,VALLEY', true, [...'ABCDEFG', 'VALLEY'].map((one) => `${one}*`)],
    ['A*,B*,C*,D*,E*,F*,VALLEY', true, [...'ABCDEF', 'Q1HILL', 'VALLEY'].map((one) => `${one}*`)],
  ])('%s, by name %s: %j', (path, byName, expected, change) => {
    expect(decideRepeat(frame(path), rules(change))).toEqual({
      ...{ repeat: true, byName },
      path: expected.map((one) => entry(one.replace('*', ''), one.endsWith('*'))),
    })
  })
})

describe('third-party frames', () => {
  const carries = (text: string): boolean => carriesOurs(Buffer.from(text, 'latin1'), 'Q1HILL')

  it('a header is read to its colon, or to the end where it has none', () => {
    expect(carries('}Q7CAR>APZ001,Q1HILL')).toBe(true)
    expect(carries('}Q7CAR>APZ001:Q1HILL')).toBe(false)
    expect(carries('}Q7CAR>APZ001:>told Q1HILL,Q1HILL')).toBe(false)
    expect(carries('}Q7CAR>APZ001')).toBe(false)
    expect(carries('Q1HILL>APZ001:>no third party')).toBe(false)
  })

  it('only the mark behind a call is left out of it', () => {
    expect(carries('}Q7CAR>APZ001,Q1*HILL:>x')).toBe(false)
    expect(carries('}Q7CAR>APZ001,Q1HILL**:>x')).toBe(false)
  })

  it('sixty headers are looked at, which is more than a frame can hold', () => {
    const wrapped = (depth: number): string => `${'}A>B:'.repeat(depth - 1)}}Q1HILL>B:>x`
    expect(carries(wrapped(60))).toBe(true)
    expect(carries(wrapped(61))).toBe(false)
  })
})
