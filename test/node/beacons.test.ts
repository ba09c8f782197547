import { describe, expect, it } from 'vitest'
import { parsePayload } from '../../src/aprs/parse.js'
import { decodeFrame } from '../../src/ax25/frame.js'
import type { BeaconSchedule } from '../../src/node/beaconOptions.js'
import { type BeaconParts, beacons } from '../../src/node/beacons.js'
import { ownObjects } from '../../src/node/ownObjects.js'
import type { Outgoing } from '../../src/node/transmitter.js'
import type { Service } from '../../src/services/service.js'
import { inEnglish } from '../../src/words/air/all.js'
import { openTestStore } from '../store/openTestStore.js'
import { HandRadio } from './handRadio.js'
import { echoService, testNode } from './testNode.js'

const position = { latitudeDeg: 46.5, longitudeDeg: 8.25 }
const beaconNode = (schedules: readonly BeaconSchedule[], more = {}) =>
  testNode({
    options: { position, status: 'Hill node', beacons: { schedules, ...more } },
  })

const payloads = (node: ReturnType<typeof testNode>) =>
  node.port.sent.map(({ request }) => {
    const decoded = decodeFrame(request.octets)
    if (!decoded.ok) throw new Error(decoded.reason)
    return parsePayload(decoded.frame.payload, 'APZRPT')
  })

describe('schedules', () => {
  it('every N minutes, from shortly after the start', async () => {
    const node = beaconNode([{ kind: 'status', everyMs: 600_000 }])
    await node.wait(3_600)
    const times = node.port.sent.map(({ atS }) => atS)
    expect(times).toHaveLength(6)
    expect(times[0]).toBeLessThan(61)
    expect(times[1]! - times[0]!).toBeCloseTo(600, 1)
  })

  it('by cron, at the minutes named, none twice', async () => {
    const node = beaconNode([{ kind: 'status', cron: '10 * * * *' }])
    await node.wait(3 * 3_600)
    expect(node.port.sent.map(({ atS }) => Math.floor(atS))).toEqual([600, 4_200, 7_800])
  })

  it('stop with the node', async () => {
    const node = beaconNode([{ kind: 'status', everyMs: 600_000 }])
    node.node.stop()
    await node.wait(3_600)
    expect(node.port.sent).toEqual([])
  })
})

describe('what is sent', () => {
  it('has the lowest priority, its path, and a time after which it is dropped', async () => {
    const node = beaconNode([{ kind: 'position', everyMs: 600_000, path: ['WIDE1-1'] }], {
      notAfterMs: 30_000,
      comment: 'Hill node, send help',
    })
    await node.wait(120)
    const { line, request } = node.port.sent[0]!
    expect(line).toBe('N0DE-10>APZRPT,WIDE1-1:=4630.00N/00815.00ErHill node, send help')
    expect(request.priority).toBe('beacon')
    expect(request.notAfterMs - (node.port.sent[0]!.atS * 1000 - 500)).toBeCloseTo(30_000, 3)
  })

  it('power, height and gain, or a range, before a comment that is cut to what is left', async () => {
    const comment = `${'c'.repeat(36)}1234567`
    const reach = { powerW: 25, heightAboveTerrainM: 6.1, gainDb: 3 }
    const sent = async (more: object) => {
      const node = beaconNode([], { comment, ...more })
      node.node.beaconNow('position')
      await node.wait(2)
      return node.port.sent[0]!.line.split('Er')[1]
    }
    expect(await sent({})).toBe(comment)
    expect(await sent({ reach })).toBe(`PHG5130${'c'.repeat(36)}`)
    expect(await sent({ reach: { ...reach, directionDeg: 90 } })).toBe(`PHG5132${'c'.repeat(36)}`)
    expect(await sent({ reach: { rangeM: 80_500 } })).toBe(`RNG0050${'c'.repeat(36)}`)
  })

  it('services as bulletins of at most 67 characters', async () => {
    const node = beaconNode([])
    node.node.beaconNow('services')
    await node.wait(2)
    expect(payloads(node)).toMatchObject([
      { kind: 'bulletin', id: '0', text: 'Message N0DE-10 with: echo TEXT' },
    ])
  })

  it('a service that has nothing to answer out of is no part of them', async () => {
    const empty: Service = {
      ...{ keyword: 'pass', summary: 'x', usage: 'pass NAME', answer: () => 'nothing' },
      ready: () => ({ state: 'empty', reason: 'nothing is loaded' }),
    }
    const node = testNode({ services: [echoService, empty] })
    node.node.beaconNow('services')
    await node.wait(2)
    expect(node.sentTexts().join()).toMatch(/Message N0DE-10 with: echo TEXT$/)
  })

  it('objects, status and capabilities', async () => {
    const node = beaconNode([], {
      objects: () => [{ name: '439.05-HB', position, symbol: '/r', comment: 'T079' }],
    })
    for (const kind of ['objects', 'status', 'capabilities']) node.node.beaconNow(kind)
    await node.wait(2)
    expect(payloads(node)).toMatchObject([
      { kind: 'object', name: '439.05-HB', live: true },
      { kind: 'status', text: 'Hill node' },
      { kind: 'capabilities', tokens: { QUESTIONS: true, ANSWERED: '0', HEARD: '0' } },
    ])
  })

  it('an object that ended is told as gone three times, after a restart, too; one that is only distant is not', async () => {
    const hut = { name: 'HUT', position, symbol: '/r', comment: 'open', isToldWhenGone: true }
    const near = { ...hut, name: '145.600', isToldWhenGone: false }
    let objects = [hut, near]
    const first = beaconNode([], { objects: () => objects })
    first.node.beaconNow('objects')
    await first.wait(2)
    const again = testNode({
      store: first.store,
      options: { position, beacons: { schedules: [], objects: () => objects } },
    })
    const told = async () => {
      const before = again.port.sent.length
      again.node.beaconNow('objects')
      await again.wait(2)
      return payloads(again)
        .slice(before)
        .map((one) => one.kind === 'object' && `${one.name} ${one.live}`)
    }
    expect(await told()).toEqual(['HUT true', '145.600 true'])
    objects = []
    expect(await told()).toEqual(['HUT false'])
    objects = [hut]
    expect(await told(), 'it came back').toEqual(['HUT true'])
    objects = []
    for (let time = 1; time <= 3; time++) expect(await told()).toEqual(['HUT false'])
    expect(await told()).toEqual([])
    expect(again.port.sent.at(-1)!.line).toContain(';HUT      _')
  })

  it('telemetry whose definitions give the values back', async () => {
    const node = beaconNode([], {
      telemetry: [
        { name: 'Supply', unit: 'volt', step: 0.1, offset: 0, read: () => 12.62 },
        { name: 'Temp', unit: 'deg.C', step: 0.5, offset: -40, read: () => 21.3 },
        { name: 'Gone', unit: 'x', step: 1, offset: 0, read: () => undefined },
      ],
    })
    node.hear('N0CALL-7>APZ001:>one')
    node.hear('N0CALL-7>APZ001:>two')
    node.node.beaconNow('telemetry')
    node.node.beaconNow('telemetry')
    node.node.beaconNow('telemetry-definitions')
    await node.wait(3)
    const [first, second, ...definitions] = payloads(node)
    expect(first).toMatchObject({ kind: 'telemetry', telemetry: { sequence: '001' } })
    expect(second).toMatchObject({ kind: 'telemetry', telemetry: { sequence: '002' } })
    if (first?.kind !== 'telemetry') throw new Error('no telemetry')
    const equations = definitions.find(
      (one) => one.kind === 'telemetryDefinition' && one.definition === 'equations',
    )
    if (equations?.kind !== 'telemetryDefinition' || equations.definition !== 'equations')
      throw new Error('no equations')
    // chapter 13: a v² + b v + c
    const values = equations.coefficients.map(
      ([a, b, c], index) =>
        a * first.telemetry.analog[index]! ** 2 + b * first.telemetry.analog[index]! + c,
    )
    expect(values[0]).toBeCloseTo(12.6, 1)
    expect(values[1]).toBeCloseTo(21.5, 1)
    // duty of the test radio and frames heard
    expect(values[3]).toBeCloseTo(5, 1)
    expect(values[4]).toBe(2)
    expect(first.telemetry.digital.slice(0, 3)).toEqual([true, true, false])
    const names = definitions.find(
      (one) => one.kind === 'telemetryDefinition' && one.definition === 'names',
    )
    expect(names).toMatchObject({ labels: ['Supply', 'Temp', 'Gone', 'Duty', 'Hear'] })
  })

  it('a beacon that cannot be formed is a fault in the log, not an end', async () => {
    const node = beaconNode([], {
      objects: () => [
        { name: 'X', position: { latitudeDeg: 99, longitudeDeg: 0 }, symbol: '/r', comment: '' },
      ],
    })
    node.node.beaconNow('objects')
    expect(node.events.at(-1)).toMatchObject({ kind: 'fault', text: 'beacon: objects' })
  })
})

describe('beacons', () => {
  const { store, clock } = openTestStore()
  const bench = (
    schedules: readonly BeaconSchedule[],
    more: Partial<BeaconParts> & { readonly beaconOptions?: object } = {},
  ) => {
    const sent: Outgoing[] = []
    const told: [string, string, unknown][] = []
    const radios = [new HandRadio(3), new HandRadio(7)]
    const { beaconOptions, ...parts } = more
    const made = beacons({
      ...{ clock, store, ports: radios, random: () => 0.5, call: 'N0DE-10', services: [] },
      ...{ clockTrust: { trusted: () => true } as never, wording: () => inEnglish },
      note: (kind, text, detail) => void told.push([kind, text, detail]),
      transmitter: { send: (one: Outgoing) => void sent.push(one) } as never,
      notices: { recent: () => [] } as never,
      options: {
        ...{ schedules, notAfterMs: 30_000, symbol: '/r', comment: '' },
        ...{ objects: () => [], telemetry: [], ...beaconOptions },
      },
      ...{ status: () => 'Hill node', position: () => position, framesHeard: () => 0 },
      ...{ isQuiet: () => false, ...parts },
    })
    const lines = () =>
      sent.map(({ radio, path, payload }) => [radio, path.join(), Buffer.from(payload).toString()])
    return { made, sent, told, radios, lines }
  }
  const status = '>Hill node'

  it('go out on all radios, without a path, where nothing else is said', () => {
    const { made, sent, lines } = bench([])
    made.send('status')
    expect(lines()).toEqual([
      [3, '', status],
      [7, '', status],
    ])
    expect(sent[0]).toEqual({
      ...{ payload: sent[0]!.payload, path: [], radio: 3, priority: 'beacon' },
      ...{ notAfterMs: clock.monotonicMs() + 30_000, text: 'beacon: status' },
    })
  })

  it('go out by each of their schedules: its radios, its path', () => {
    const { made, lines } = bench([
      { kind: 'status', everyMs: 1e9, radios: [7], path: ['WIDE1-1'] },
      { kind: 'position', everyMs: 1e9, radios: [3], path: ['WIDE2-2'] },
      { kind: 'status', everyMs: 1e9, radios: [3] },
    ])
    made.send('status')
    expect(lines()).toEqual([
      [7, 'WIDE1-1', status],
      [3, '', status],
    ])
  })

  it('say nothing where there is nothing to say', () => {
    const { made, lines, told } = bench([], { status: () => '', position: () => undefined })
    for (const kind of ['position', 'status', 'notices', 'announcements', 'objects'] as const)
      made.send(kind)
    expect([lines(), told]).toEqual([[], []])
  })

  it('of notices and announcements have the newest five, and those of the event', () => {
    const asked: number[] = []
    const recent = (limit: number) => {
      asked.push(limit)
      return [{ from: 'Q1ABC', text: 'Net tonight' }]
    }
    const { made, lines } = bench([], {
      ...{ ports: [new HandRadio(3)], notices: { recent } as never },
      event: { announcements: () => ['Start at nine'] },
    })
    made.send('notices')
    made.send('announcements')
    expect(lines().map(([, , text]) => text)).toEqual([
      ':BLN5     :Q1ABC: Net tonight',
      ':BLNA     :Start at nine',
    ])
    expect(asked).toEqual([5])
  })

  it('offer what everybody may ask', () => {
    const forSome = { ...echoService, keyword: 'hold', usage: 'hold CODE', isFor: () => true }
    const { made, lines } = bench([], { services: [echoService, forSome] })
    made.send('services')
    expect(lines()[0]?.[2]).toBe(':BLN0     :Message N0DE-10 with: echo TEXT')
  })

  it('of telemetry count on, and have the busiest radio and the frames since the last one', () => {
    let framesHeard = 5
    const { made, lines, radios } = bench([], { framesHeard: () => framesHeard })
    radios[1]!.state = () => ({ dutyUsed: 0.25 }) as never
    made.send('telemetry')
    framesHeard = 12
    made.send('telemetry')
    const [first, second] = [lines()[0]![2], lines()[2]![2]] as [string, string]
    // duty in halves of a percent
    expect(first).toMatch(/^T#\d{3},050,005,000,000,000,00000000$/)
    expect(second).toMatch(/^T#\d{3},050,007,/)
    expect(Number(second.slice(2, 5))).toBe(Number(first.slice(2, 5)) + 1)
  })

  it('of telemetry without a radio, or a database, are sent as nothing and from 0', () => {
    const failing = { ...store, durably: () => ({ ok: false }) } as never
    const { made, sent } = bench([{ kind: 'telemetry', radios: [1] }], {
      ports: [],
      store: failing,
    })
    made.send('telemetry')
    expect(Buffer.from(sent[0]!.payload).toString()).toBe('T#000,000,000,000,000,000,00000000')
  })

  it('are not told in quiet hours, but where the operator wants it', () => {
    let isQuiet = true
    const { made, sent } = bench([{ kind: 'status', everyMs: 60_000 }], { isQuiet: () => isQuiet })
    made.start()
    clock.advanceBy(300_000)
    expect(sent).toEqual([])
    made.send('status')
    expect(sent).toHaveLength(2)
    isQuiet = false
    clock.advanceBy(60_000)
    expect(sent).toHaveLength(4)
    made.stop()
    clock.advanceBy(300_000)
    expect(sent).toHaveLength(4)
  })

  it('that are started again go by the schedule as it is then, once', () => {
    const schedules: BeaconSchedule[] = [{ kind: 'status', everyMs: 60_000, radios: [3] }]
    const { made, sent } = bench(schedules)
    made.start()
    made.start()
    clock.advanceBy(60_000)
    expect(sent).toHaveLength(1)
    schedules.push({ kind: 'position', everyMs: 60_000, radios: [3] })
    made.start()
    clock.advanceBy(60_000)
    expect(sent.slice(1).map(({ text }) => text)).toEqual(['beacon: status', 'beacon: position'])
    made.stop()
  })

  describe('of the weather', () => {
    const atWallMs = Date.UTC(2026, 0, 9, 23, 45)
    const figures = { temperatureC: 25, windDirectionDeg: 220, windSpeedMps: 1.78816 }
    const settled = () => new Promise(setImmediate)
    const weatherOf = async (more: Parameters<typeof bench>[1] = {}, weather?: unknown) => {
      const reading = { atWallMs, figures }
      const { made, lines, told } = bench([{ kind: 'weather', radios: [3] }], {
        beaconOptions: { weather: weather ?? (async () => reading) },
        ...more,
      })
      made.send('weather')
      await settled()
      return { said: lines().map(([, , text]) => text), told }
    }
    // 4 miles an hour, 77 degrees Fahrenheit
    const values = '220/004g...t077'

    it('have the place, and the time where the clock is trusted', async () => {
      const untrusted = { clockTrust: { trusted: () => false } as never }
      expect((await weatherOf()).said).toEqual([`@092345z4630.00N/00815.00E_${values}`])
      expect((await weatherOf(untrusted)).said).toEqual([`=4630.00N/00815.00E_${values}`])
    })

    it('have the time alone where the place is not known, and are not sent without either', async () => {
      const placeless = { position: () => undefined }
      const nothing = { ...placeless, clockTrust: { trusted: () => false } as never }
      expect((await weatherOf(placeless)).said).toEqual(['_01092345c220s004g...t077'])
      expect(await weatherOf(nothing)).toEqual({ said: [], told: [] })
    })

    it('are not sent while the instrument says nothing, or where there is none', async () => {
      expect(await weatherOf({}, async () => undefined)).toEqual({ said: [], told: [] })
      expect(await weatherOf({ beaconOptions: {} })).toEqual({ said: [], told: [] })
    })

    it('that fail are a fault in the log', async () => {
      const broken = await weatherOf({}, async () => {
        throw new Error('no instrument')
      })
      expect(broken.told).toEqual([['fault', 'beacon: weather', { reason: 'no instrument' }]])
    })

    it('are not sent after the end', async () => {
      const { made, sent } = bench([], {
        beaconOptions: { weather: async () => ({ atWallMs, figures }) },
      })
      made.send('weather')
      made.stop()
      await settled()
      expect(sent).toEqual([])
    })
  })

  it('of objects tell of each that is gone three times for each schedule, and write what is new', () => {
    const hut = { name: 'HUT', position, symbol: '/r', comment: 'open', isToldWhenGone: true }
    let objects = [hut]
    const schedules: BeaconSchedule[] = [
      { kind: 'objects' },
      { kind: 'objects' },
      { kind: 'status' },
    ]
    const writes: string[] = []
    const { set } = store.serviceData
    const serviceData = {
      ...store.serviceData,
      set(...given: Parameters<typeof set>) {
        writes.push(given[1])
        set(...given)
      },
    }
    const options = { objects: () => objects, schedules }
    const told = (more: readonly BeaconSchedule[] = schedules) =>
      ownObjects({
        ...{ clock, store: { ...store, serviceData } },
        options: { ...options, schedules: more },
      }).map((payload) => Buffer.from(payload).toString().slice(1, 11))
    expect([told(), told(), writes]).toEqual([['HUT      *'], ['HUT      *'], ['HUT']])
    objects = [{ ...hut, comment: 'shut' }]
    told()
    expect(writes).toHaveLength(2)
    objects = []
    const gone = Array.from({ length: 7 }, () => told().join())
    expect(gone).toEqual([...Array(6).fill('HUT      _'), ''])
    // without a schedule it is told when the operator wants it
    objects = [hut]
    told([])
    objects = []
    expect(Array.from({ length: 4 }, () => told([]).length)).toEqual([1, 1, 1, 0])
  })
})
