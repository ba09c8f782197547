import { describe, expect, it } from 'vitest'
import { keepConnected } from '../../src/node/attention.js'
import { readHeard } from '../../src/node/intake.js'
import type { HeardFrame } from '../../src/radio/port.js'
import {
  attentionBench as bench,
  frameOf,
  octetsOf,
  heardWallMs as wallMs,
  withLowerCase,
} from './attentionBench.js'

describe('a frame of a connection', () => {
  const kept: unknown[] = []
  const stations: unknown[] = []
  const store = {
    frames: { add: (one: unknown) => void kept.push(one) },
    stations: { add: (one: unknown) => void stations.push(one) },
  } as never
  const keep = (octets: Uint8Array, more: Partial<HeardFrame> = {}) => {
    kept.length = 0
    stations.length = 0
    keepConnected(store, frameOf(octets, more), 'N0DE-10')
    return { kept: [...kept], stations: [...stations] }
  }

  it('is kept, and its station noted', () => {
    const quality = { levelDbfs: -20 } as never
    const octets = octetsOf('N0CALL-7>N0DE-10,DIGI1*:x')
    expect(keep(octets, { quality, repairedBits: 1 })).toEqual({
      kept: [
        {
          ...{ heardAtWallMs: wallMs, radio: 2, source: 'N0CALL-7', octets, repairedBits: 1 },
          ...{ detector: 'test', quality },
        },
      ],
      stations: [{ call: 'N0CALL-7', atWallMs: wallMs, radio: 2, via: ['DIGI1'], quality }],
    })
  })

  it('that is repaired, ours, of no call sign or no frame, is kept alone', () => {
    const octets = octetsOf('N0CALL-7>N0DE-10:x')
    const own = octetsOf('N0DE-10>N0CALL-7:x')
    for (const one of [
      keep(octets, { repairedBits: 2 }),
      keep(own),
      keep(withLowerCase(octets)),
      keep(Uint8Array.of(1)),
    ])
      expect([one.kept.length, one.stations]).toEqual([1, []])
    expect(keep(Uint8Array.of(1)).kept).toMatchObject([{ source: '' }])
  })
})

describe('what is read of a frame', () => {
  const read = (line: string) => readHeard(frameOf(octetsOf(line)))

  it('is who is on the air, by which way, to whom, and what', () => {
    const frame = frameOf(octetsOf('N0CALL-7>APZ001,DIGI1*,WIDE2-1:>x'))
    expect(readHeard(frame)).toEqual({
      ok: true,
      heard: {
        ...{ frame, ax25: expect.any(Object), source: 'N0CALL-7', from: 'N0CALL-7' },
        ...{ via: ['DIGI1'], destination: 'APZ001', thirdParty: false },
        payload: expect.objectContaining({ kind: 'status', text: 'x' }),
      },
    })
  })

  it('is who speaks where somebody else passes it on', () => {
    expect(read('N0GATE>APZ001:}N0CALL-7>APZ001,NET,N0GATE*:>x')).toMatchObject({
      ok: true,
      heard: {
        ...{ source: 'N0GATE', from: 'N0CALL-7', thirdParty: true },
        payload: { kind: 'status', text: 'x' },
      },
    })
    const inTwo = '}Q2AB>APZ001,NET*:}N0CALL-7>APZ001,NET*:>x'
    expect(read(`N0GATE>APZ001:${inTwo}`)).toMatchObject({
      heard: { source: 'N0GATE', from: 'N0CALL-7' },
    })
    expect(read(`N0GATE>APZ001:}Q3AB>APZ001,NET*:${inTwo}`)).toEqual({
      ...{ ok: false, source: 'N0GATE', reason: 'third-party headers in a heap' },
    })
    expect(read('N0GATE>APZ001:}N0CALL-99>APZ001,NET*:>x')).toMatchObject({
      ...{ ok: false, source: 'N0GATE', reason: expect.stringMatching(/^third party: ./) },
    })
  })

  it('is nothing of other protocols and connections', () => {
    const octets = octetsOf('N0CALL-7>N0DE-10:x')
    const protocol = Uint8Array.from(octets)
    protocol[15] = 0xcf
    expect(readHeard(frameOf(protocol))).toEqual({
      ...{ ok: false, source: 'N0CALL-7', reason: 'a frame of another protocol' },
    })
    const connection = Uint8Array.from(octets.subarray(0, 15))
    connection[14] = 0x3f
    expect(readHeard(frameOf(connection))).toEqual({
      ...{ ok: false, source: 'N0CALL-7', reason: 'a frame of a connection (U)' },
    })
  })
})

describe('what is noted of a station', () => {
  const noted = (line: string) => {
    const { hear, stations, tallied } = bench()
    hear(line)
    return { station: stations[0], tallied }
  }

  it('is its position and symbol, of its own alone', () => {
    const here = {
      latitudeDeg: expect.closeTo(49.058333, 6),
      longitudeDeg: expect.closeTo(-72.029167, 6),
    }
    const position = { ...here, ambiguityDigits: 0 }
    expect(noted('N0CALL-7>APZ001:!4903.50N/07201.75W>hi').station).toMatchObject({
      ...{ position, symbol: '/>', status: undefined },
    })
    expect(noted('N0GATE>APZ001:}N0CALL-7>APZ001,NET*:!4903.50N/07201.75W>hi').station).toEqual({
      ...{ call: 'N0GATE', atWallMs: wallMs, radio: 2, via: [], quality: undefined },
      ...{ position: undefined, symbol: undefined, weather: undefined, status: undefined },
    })
    // an object is somewhere else
    expect(noted('N0CALL-7>APZ001:;LEADER   *092345z4903.50N/07201.75W>x').station).toMatchObject({
      position: undefined,
      symbol: undefined,
    })
  })

  it('is its position and symbol in Mic-E, too', () => {
    // chapter 10 of the reference: 33 25.64 N, 112 07.74 W, symbol /j
    expect(noted('N0CALL-7>S32U6T:`(_fn"Oj/').station).toMatchObject({
      ...{ symbol: '/j', position: { latitudeDeg: expect.closeTo(33.42733, 5) } },
    })
  })

  it('is its weather, without what no weather is', () => {
    const report = (values: string) => noted(`N0CALL-7>APZ001:!4903.50N/07201.75W_${values}`)
    const good = report('220/004g005t077')
    expect(good.station).toMatchObject({ weather: { temperatureC: 25 } })
    expect(good.tallied).toEqual([])
    const odd = report('220/004g005t999')
    expect(odd.station).not.toMatchObject({ weather: { temperatureC: expect.any(Number) } })
    expect(odd.tallied).toEqual([
      ['weather left out', 'temperatureC outside of what weather can be'],
    ])
    // a report that says nothing does not stand in the place of one that did
    expect(report('.../...g...t...').station).toMatchObject({ weather: undefined })
  })
})
