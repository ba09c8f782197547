import { describe, expect, it } from 'vitest'
import { parsePayload } from '../../src/aprs/parse.js'
import { decodeFrame } from '../../src/ax25/frame.js'
import type { BeaconSchedule } from '../../src/node/beaconOptions.js'
import { nextCronMs } from '../../src/node/schedule.js'
import type { Service } from '../../src/services/service.js'
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
  it('cron expressions are read in UTC', () => {
    expect(nextCronMs('0,30 * * * *', Date.UTC(2026, 0, 1, 12, 1))).toBe(
      Date.UTC(2026, 0, 1, 12, 30),
    )
  })

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
