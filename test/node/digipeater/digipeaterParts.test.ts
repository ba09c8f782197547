import { describe, expect, it } from 'vitest'
import type { FinalOutcome } from '../../../src/radio/port.js'
import { connectionFrame, digipeaterBench, octetsOf, sent } from './digipeaterBench.js'

const refusal: FinalOutcome = { id: '1', kind: 'refused', atMs: 0, reason: 'the radio is held' }
const copy = 'a copy of one that was repeated'

describe('a frame that is repeated', () => {
  it('goes to the radio of its route as it came but for the path, and is counted once it was sent', () => {
    const one = digipeaterBench({ routes: [{ from: 0, to: 1 }], notAfterMs: 7_000 })
    one.clock.advanceTo(3_000)
    one.hear('Q7CAR-9>APZ001,WIDE1-1,WIDE2-1:>on the road')
    const octets = octetsOf('Q7CAR-9>APZ001,N0DE-10,WIDE1*,WIDE2-1:>on the road')
    expect(one.given).toEqual([
      {
        ...{ whole: octets, payload: octets, path: [], radio: 1, priority: 'digipeat' },
        ...{ notAfterMs: 10_000, station: 'Q7CAR-9', text: 'a frame of Q7CAR-9, repeated' },
        onEnd: expect.any(Function),
      },
    ])
    expect(one.digipeater.repeatedCount).toBe(0)
    one.end(0)
    expect(one.digipeater.repeatedCount).toBe(1)
    expect(one.digipeater.reasons).toEqual([])
  })

  it('that the radio refused is not counted as repeated, says why, and its copies stay out for 30 s', () => {
    const one = digipeaterBench()
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>a')
    one.end(0, refusal)
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>a')
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>a')
    expect(one.digipeater.repeatedCount).toBe(0)
    expect(one.digipeater.reasons).toEqual([
      { what: 'not repeated', reason: copy, count: 2 },
      { what: 'not repeated', reason: 'the radio is held', count: 1 },
    ])
  })

  it('comes again as a copy for 30 s to the millisecond, counted from the first', () => {
    const one = digipeaterBench()
    const hearAt = (ms: number): void => {
      one.clock.advanceTo(ms)
      one.hear('Q7CAR-9>APZ001,WIDE1-1:>a')
      for (const index of one.given.keys()) one.end(index)
    }
    hearAt(0)
    hearAt(20_000)
    hearAt(29_999)
    expect(one.lines()).toHaveLength(1)
    hearAt(30_000)
    expect(one.lines()).toHaveLength(2)
    hearAt(59_999)
    expect(one.lines()).toHaveLength(2)
    expect(one.reasons()).toEqual({ [copy]: 3 })
  })

  it('by name, once its first copy asked for another: what was refused is no copy', () => {
    const one = digipeaterBench()
    one.hear('Q7CAR-9>APZ001,Q9OTHR,N0DE-10:>a')
    one.hear('Q7CAR-9>APZ001,Q9OTHR*,N0DE-10:>a')
    expect(one.lines()).toEqual(['Q7CAR-9 Q9OTHR,N0DE-10*'])
    expect(one.reasons()).toEqual({ 'its next digipeater is another one': 1 })
  })

  it('of a connection is its own each time, though the one before it still waits, and waits for nobody', () => {
    const one = digipeaterBench({ waitForOthersMs: 2_000 })
    for (let n = 0; n < 3; n++) one.hearOctets(connectionFrame('N0DE-10'))
    expect(one.lines()).toHaveLength(3)
    for (const index of one.given.keys()) one.end(index)
    expect(one.digipeater.repeatedCount).toBe(3)
    expect(one.reasons()).toEqual({})
  })
})

describe('routes', () => {
  it('a frame goes out on each radio that one leads to, and a radio without any repeats nothing', () => {
    const one = digipeaterBench({
      routes: [
        { from: 0, to: 0 },
        { from: 0, to: 1 },
      ],
    })
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>a')
    expect(one.given.map(({ radio }) => radio)).toEqual([0, 1])
    one.hear('Q8CAR>APZ001,WIDE1-1:>a', { radio: 1 })
    expect(one.given).toHaveLength(2)
    expect(one.reasons()).toEqual({})
  })

  it('what the other radio heard within 30 s needs no repeat there; a connection asked for us', () => {
    const across = { routes: [{ from: 0, to: 1 }] }
    const one = digipeaterBench(across)
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>a', { radio: 1 })
    one.clock.advanceTo(29_999)
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>a')
    expect(one.reasons()).toEqual({ 'heard on the other radio, too': 1 })
    one.clock.advanceTo(30_000)
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>a')
    expect(one.lines()).toEqual(['Q7CAR-9 N0DE-10,WIDE1*'])

    const other = digipeaterBench(across)
    other.hearOctets(connectionFrame('N0DE-10'), { radio: 1 })
    other.hearOctets(connectionFrame('N0DE-10'))
    // on a radio that no route leads to
    other.hear('Q7CAR-9>APZ001,WIDE1-1:>b', { radio: 2 })
    other.hear('Q7CAR-9>APZ001,WIDE1-1:>b')
    expect(other.lines()).toHaveLength(2)
  })

  it('what was repeated to one radio is repeated to the other, too', () => {
    const one = digipeaterBench({
      routes: [
        { from: 0, to: 1 },
        { from: 2, to: 3 },
      ],
    })
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>a')
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>a', { radio: 2 })
    expect(one.given.map(({ radio }) => radio)).toEqual([1, 3])
  })
})

describe('what is not repeated', () => {
  it('a frame with a repaired bit, by its reason; octets that are no frame, by none', () => {
    const one = digipeaterBench()
    const octets = octetsOf('Q7CAR-9>APZ001,WIDE1-1:>a')
    one.hearOctets(octets.subarray(0, 9))
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>a', { repairedBits: 1 })
    expect(one.given).toEqual([])
    expect(one.reasons()).toEqual({ 'it was repaired': 1 })
    one.hearOctets(octets)
    expect(one.given).toHaveLength(1)
  })

  it('a station on the list, with its SSID or with any', () => {
    const one = digipeaterBench({ ignored: ['Q6BAD', 'Q5BAD-1'] })
    for (const call of ['Q6BAD-3', 'Q5BAD-1', 'Q5BAD-2']) one.hear(`${call}>APZ001,WIDE1-1:>a`)
    expect(one.lines()).toEqual(['Q5BAD-2 N0DE-10,WIDE1*'])
    expect(one.reasons()).toEqual({ 'its station is on the list of those left out': 2 })
  })

  it('after the stop: what waits for others, what waits for the channel, what comes', () => {
    const one = digipeaterBench({ waitForOthersMs: 1_000 })
    one.hear('Q7CAR-9>APZ001,N0DE-10:>by name')
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>waits')
    for (let n = 0; n < 2; n++) one.hearOctets(connectionFrame('N0DE-10'))
    one.digipeater.stop()
    one.hear('Q8CAR>APZ001,N0DE-10:>late')
    one.clock.advanceBy(10_000)
    expect(one.given).toHaveLength(3)
    expect(one.takenBack).toEqual(Array(3).fill('the node stops'))
    expect(one.reasons()).toEqual({})
  })

  it('a station farther away than is allowed; at the limit, and of unknown place, it is', () => {
    const away: Record<string, number> = { Q1EDGE: 50_000, Q2FAR: 50_001 }
    const one = digipeaterBench({ withinM: 50_000 }, { distanceM: (call) => away[call] })
    for (const call of ['Q1EDGE', 'Q2FAR', 'Q3ANY']) one.hear(`${call}>APZ001,WIDE1-1:>a`)
    expect(one.lines()).toEqual(['Q1EDGE N0DE-10,WIDE1*', 'Q3ANY N0DE-10,WIDE1*'])
    expect(one.reasons()).toEqual({ 'its station is too far away': 1 })
    const all = digipeaterBench({}, { distanceM: (call) => away[call] })
    all.hear('Q2FAR>APZ001,WIDE1-1:>a')
    expect(all.lines()).toHaveLength(1)
  })

  it('by kind, read with the destination that holds a part of it; another protocol, and a connection, has none', () => {
    const one = digipeaterBench({ skip: ['micE', 'thirdParty'] })
    // APRS reference ch. 10: latitude in the destination, the rest in the payload
    one.hear('Q7CAR-9>S32U6T,WIDE1-1:`(_fn"Oj/')
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>status')
    one.hear('Q7CAR-9>APZ001,WIDE1-1:}Q1A>APZ001,N0DE-10*:>ours')
    const other = octetsOf('Q7CAR-9>APZ001,WIDE1-1:}N0DE-10>APZ001:>not APRS')
    const pidAt = other.indexOf(0xf0, 14)
    one.hearOctets(Uint8Array.from(other, (octet, at) => (at === pidAt ? 0xcf : octet)))
    // an I frame with the protocol and the text of a Mic-E position
    const position = octetsOf('Q7CAR-9>S32U6T,N0DE-10:`(_fn"Oj/')
    one.hearOctets(Uint8Array.from(position, (octet, at) => (at === pidAt - 1 ? 0x00 : octet)))
    expect(one.given).toHaveLength(3)
    expect(one.reasons()).toEqual({
      'frames of this kind are left out (micE)': 1,
      'a third-party frame that we were part of': 1,
    })
  })
})

describe('limits a minute', () => {
  it('of all frames and of one station, each for 60 s; what is one too many leaves its place', () => {
    const one = digipeaterBench({ perMinute: 3, perStationPerMinute: 2 })
    const hear = (call: string, text: string): void => one.hear(`${call}>APZ001,WIDE1-1:>${text}`)
    for (const text of ['a', 'b', 'c']) hear('Q1CAR', text)
    for (const text of ['a', 'b']) hear('Q2CAR', text)
    expect(one.lines().map((line) => line.slice(0, 5))).toEqual(['Q1CAR', 'Q1CAR', 'Q2CAR'])
    expect(one.reasons()).toEqual({
      'more frames a minute of one station than are repeated': 1,
      'more frames a minute than are repeated': 1,
    })
    for (let n = 0; n < 200; n++) hear('Q3CAR', `more ${n}`)
    expect(one.reasons()['more frames a minute than are repeated']).toBe(201)
    one.clock.advanceTo(59_999)
    hear('Q4CAR', 'a')
    expect(one.given).toHaveLength(3)
    one.clock.advanceTo(60_000)
    hear('Q4CAR', 'b')
    expect(one.given).toHaveLength(4)
  })

  it('a hundred frames may wait; one more is none too many once one of them went', () => {
    const one = digipeaterBench()
    for (let n = 1; n <= 100; n++) one.hear(`Q7CAR-9>APZ001,WIDE1-1:>${n}`)
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>101')
    expect(one.given).toHaveLength(100)
    expect(one.reasons()).toEqual({ 'too many wait': 1 })
    one.end(0)
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>101')
    expect(one.given).toHaveLength(101)
  })

  it('a radio that refuses at once leaves no place taken', () => {
    const one = digipeaterBench()
    one.atOnce = refusal
    for (let n = 0; n < 150; n++) one.hear(`Q7CAR-9>APZ001,WIDE1-1:>${n}`)
    expect(one.reasons()).toEqual({ 'the radio is held': 150 })
  })
})

describe('waiting for others', () => {
  it.each([
    [0, 2_000],
    [0.5, 3_000],
    [0.75, 3_500],
  ])('with the random number %d it is repeated after %d ms', (random, ms) => {
    const one = digipeaterBench({ waitForOthersMs: 2_000 }, { random: () => random })
    one.clock.advanceTo(5_000)
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>a')
    one.clock.advanceTo(5_000 + ms - 1)
    expect(one.given).toEqual([])
    one.clock.advanceTo(5_000 + ms)
    expect(one.given).toMatchObject([{ notAfterMs: 5_000 + ms + 10_000 }])
  })

  it('a copy with as many used digipeaters, or with fewer, was repeated by nobody', () => {
    const one = digipeaterBench({ waitForOthersMs: 2_000 })
    one.hear('Q7CAR-9>APZ001,Q1A*,WIDE2-1:>a')
    one.hear('Q7CAR-9>APZ001,Q2B*,WIDE2-1:>a')
    one.hear('Q7CAR-9>APZ001,WIDE2-2:>a')
    one.clock.advanceBy(3_000)
    expect(one.lines()).toEqual(['Q7CAR-9 Q1A,N0DE-10,WIDE2*'])
    expect(one.reasons()).toEqual({ [copy]: 2 })
  })

  it('the channel was not free yet: enough others have it taken back, and a last copy that asks for us goes', () => {
    const one = digipeaterBench({ waitForOthersMs: 2_000, othersEnough: 2 })
    one.hear('Q7CAR-9>APZ001,WIDE2-2:>a')
    one.clock.advanceBy(3_000)
    expect(one.given).toHaveLength(1)
    one.hear('Q7CAR-9>APZ001,Q1A*,WIDE2-1:>a')
    expect(one.takenBack).toEqual([])
    one.hear('Q7CAR-9>APZ001,Q2B*,N0DE-10:>a')
    expect(one.takenBack).toEqual(['others repeated it'])
    expect(one.lines()).toEqual(['Q7CAR-9 N0DE-10*,WIDE2-1', 'Q7CAR-9 Q2B,N0DE-10*'])
    expect(one.reasons()).toEqual({ [copy]: 1, 'others repeated it': 1 })
  })

  it('a digipeater that does not add its call is another, too', () => {
    const one = digipeaterBench({ waitForOthersMs: 2_000 })
    one.hear('Q7CAR-9>APZ001,WIDE1-1,WIDE2-1:>a')
    one.hear('Q7CAR-9>APZ001,WIDE1*,Q9OTHR:>a')
    one.clock.advanceBy(3_000)
    expect(one.given).toEqual([])
    expect(one.reasons()['others repeated it']).toBe(1)
  })

  it('what others had done is not repeated when its time comes', () => {
    const one = digipeaterBench({ waitForOthersMs: 2_000 })
    one.hear('Q7CAR-9>APZ001,WIDE2-1:>a')
    one.hear('Q7CAR-9>APZ001,Q1A*,WIDE2*:>a')
    one.clock.advanceBy(10_000)
    expect(one.given).toEqual([])
    expect(one.reasons()).toEqual({ 'others repeated it': 1, 'its path is used up': 1 })
  })

  it('that is not asked for leaves nothing to others', () => {
    const one = digipeaterBench()
    one.hear('Q7CAR-9>APZ001,WIDE2-1:>a')
    one.hear('Q7CAR-9>APZ001,Q1A*,WIDE2*:>a')
    expect(one.takenBack).toEqual([])
    one.end(0, sent)
    expect(one.digipeater.repeatedCount).toBe(1)
  })

  it('one too many is refused when its time comes, and is no copy of what waits after 30 s', () => {
    const one = digipeaterBench({ waitForOthersMs: 2_000, perStationPerMinute: 1 })
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>a')
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>b')
    one.clock.advanceBy(3_000)
    expect(one.given).toHaveLength(1)
    one.clock.advanceTo(63_000)
    one.hear('Q7CAR-9>APZ001,WIDE1-1:>b')
    one.clock.advanceBy(3_000)
    expect(one.given).toHaveLength(2)
    expect(one.reasons()).toEqual({ 'more frames a minute of one station than are repeated': 1 })
  })
})
