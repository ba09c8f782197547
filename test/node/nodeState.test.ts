import { describe, expect, it } from 'vitest'
import { encodeFrame } from '../../src/ax25/frame.js'
import { parseLine } from '../../src/ax25/line.js'
import { createNode } from '../../src/node/node.js'
import type { NodeParts } from '../../src/node/serviceNode.js'
import { seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { tacticalNames } from '../../src/services/event/tacticalNames.js'
import type { Service, ServiceContext } from '../../src/services/service.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import type { NodeEvent } from '../../src/store/events.js'
import { openTestStore } from '../store/openTestStore.js'
import { echoService, TestPort } from './testNode.js'

const wallMs = Date.UTC(2026, 5, 21, 12)
const place = { latitudeDeg: 46.5, longitudeDeg: 8.25 }
const elsewhere = { latitudeDeg: 47, longitudeDeg: 9 }

/** A node of these parts, not started; on one radio where nothing else is said. */
function bench(
  given: Partial<NodeParts> = {},
  options: Parameters<typeof defaultNodeOptions>[0] = {},
) {
  const { store, clock } = openTestStore(':memory:', virtualClock(wallMs))
  const port = new TestPort(clock, 3)
  const events: NodeEvent[] = []
  const seen: ServiceContext[] = []
  const looking: Service = {
    ...{ keyword: 'look', summary: 'looks', usage: 'look' },
    answer(_, context) {
      seen.push(context)
      return 'seen'
    },
  }
  let id = 0
  const parts: NodeParts = {
    ...{ ports: [port], clock, store, random: seededRandom(1), nextId: () => `n${++id}` },
    ...{ services: [echoService, looking], onEvent: (event) => void events.push(event) },
    options: defaultNodeOptions({ call: 'N0DE-10', ...options }),
    ...given,
  }
  const node = createNode(parts)
  const hear = (line: string, on = port): void => {
    const parsed = parseLine(line)
    if (!parsed.ok) throw new Error(parsed.reason)
    on.hear(encodeFrame(parsed.frame))
  }
  const wait = (seconds: number) => clock.advanceToAsync(clock.monotonicMs() + seconds * 1000)
  const look = async (from = 'N0CALL-7'): Promise<ServiceContext> => {
    hear(`${from}>APZ001::N0DE-10  :look`)
    await wait(40)
    return seen.at(-1)!
  }
  const kinds = () => events.map(({ kind }) => kind)
  return { node, parts, port, clock, store, events, kinds, hear, wait, look }
}

describe('the state of a node', () => {
  it('is all zero where nothing happened', () => {
    const { node } = bench({}, { position: place })
    node.start()
    expect(node.state()).toEqual({
      ...{ call: 'N0DE-10', position: place, openQuestionCount: 0, openMessageCount: 0 },
      ...{ parkedMessageCount: 0, waiting: [], endings: [], notOffered: [], mailboxCount: 0 },
      ...{ framesHeardCount: 0, faultCount: 0 },
    })
  })

  it('counts what was heard, what is under way, and what came to nothing', async () => {
    const { node, port, hear, wait } = bench()
    node.start()
    port.mode = 'swallow'
    hear('N0CALL-7>APZ001:>x')
    hear('N0CALL-7>APZ001::N0DE-10  :echo hi{1')
    await wait(5)
    expect(node.state()).toMatchObject({ framesHeardCount: 2, openMessageCount: 1 })
    expect(node.state().waiting).toMatchObject([
      { radio: 3, priority: 'acknowledgement', station: 'N0CALL-7', ageMs: 5_000 },
      { radio: 3, priority: 'answer', station: 'N0CALL-7' },
    ])
    hear('N0CALL-8>APZ001::N0DE-10  :AA: away')
    expect(node.state().endings).toEqual([
      { what: 'refused', reason: 'an automatic reply is not answered', count: 1 },
    ])
  })

  it('shows a hundred frames that wait', async () => {
    const { node, port, clock } = bench()
    node.start()
    port.mode = 'swallow'
    for (let at = 0; at < 101; at++) node.say({ to: `Q${at}`, text: 'hello' })
    await clock.advanceToAsync(1_000)
    const { waiting, openMessageCount } = node.state()
    expect([waiting.length, openMessageCount, waiting[0]?.station]).toEqual([100, 101, 'Q0'])
  })

  it('names services that have nothing to answer out of', () => {
    const empty: Service = {
      ...{ keyword: 'pass', summary: 'x', usage: 'pass', answer: () => 'nothing' },
      ready: () => ({ state: 'empty', reason: 'nothing is loaded' }),
    }
    const { node } = bench({ services: [echoService, empty] })
    expect(node.state().notOffered).toEqual([{ keyword: 'pass', reason: 'nothing is loaded' }])
  })

  it('has that of what else is configured', () => {
    const link = { take: () => false, start: () => {}, stop: () => {}, state: { is: 'state' } }
    const { node } = bench({
      digipeater: () => ({ ...link, repeatedCount: 3, reasons: [] }) as never,
      connected: () => ({ ...link, openCount: 2, counts: { refused: 1 } }) as never,
      hills: () => link as never,
      email: () => link as never,
    })
    expect(node.state()).toMatchObject({
      digipeater: { repeatedCount: 3, reasons: [] },
      connected: { openCount: 2, counts: { refused: 1 } },
      ...{ hills: { is: 'state' }, email: { is: 'state' } },
    })
  })
})

describe('a node', () => {
  it('hears nothing before its start, nor after its end', async () => {
    const { node, hear, wait, port, kinds } = bench()
    hear('N0CALL-7>APZ001::N0DE-10  :echo early')
    node.start()
    node.start()
    expect(kinds()).toEqual(['started'])
    hear('N0CALL-7>APZ001::N0DE-10  :echo hi')
    await wait(5)
    node.stop()
    hear('N0CALL-7>APZ001::N0DE-10  :echo late')
    await wait(60)
    expect(port.sent.map(({ line }) => line)).toEqual(['N0DE-10>APZRPT::N0CALL-7 :hi'])
    expect(node.say({ to: 'Q1ABC', text: 'x' })).toEqual({
      ...{ ok: false, reason: 'the node has stopped' },
    })
  })

  it('is in the log as started, with its call', () => {
    const { node, events } = bench()
    node.start()
    expect(events).toEqual([{ atWallMs: wallMs, kind: 'started', text: 'node N0DE-10' }])
  })

  it.each([
    [1, '1 row is not whole: left out, and kept'],
    [2, '2 rows are not whole: left out, and kept'],
  ])('says that %i rows of the database are not whole', (badRowCount, reason) => {
    const { parts } = bench()
    const { store } = parts
    const events: NodeEvent[] = []
    const state = () => ({ ...store.state(), badRowCount })
    const again = createNode({
      ...{ ...parts, store: { ...store, state } },
      onEvent: (event) => void events.push(event),
    })
    again.start()
    expect(events.slice(1)).toEqual([
      { atWallMs: wallMs, kind: 'fault', text: 'the database at the start', reason },
    ])
  })

  it('sends the beacons that there are', async () => {
    const { node, port, wait } = bench({}, { status: 'Hill' })
    node.start()
    node.beaconNow('status')
    node.beaconNow('no such')
    await wait(5)
    expect(port.sent.map(({ line }) => line)).toEqual(['N0DE-10>APZRPT:>Hill'])
  })

  it('has the status of an event while that is on', async () => {
    let status: string | undefined = 'Race today'
    const event = { names: {} as never, status: () => status, announcements: () => [] }
    const { node, port, wait } = bench({ event }, { status: 'Hill' })
    node.start()
    node.beaconNow('status')
    status = undefined
    node.beaconNow('status')
    await wait(5)
    expect(port.sent.map(({ line }) => line.split(':')[1])).toEqual(['>Race today', '>Hill'])
  })

  it('goes by another schedule where that changes, and not otherwise', async () => {
    const { node, parts, port, wait } = bench({}, { status: 'Hill' })
    node.start()
    const schedules = [{ kind: 'status', everyMs: 600_000 }] as const
    const next = { ...parts.options, beacons: { ...parts.options.beacons, schedules } }
    node.setOptions(next)
    await wait(300)
    expect(port.sent).toHaveLength(1)
    // begun anew, it would go out within a minute
    node.setOptions({ ...next, heightM: 3 })
    await wait(200)
    expect(port.sent).toHaveLength(1)
    node.stop()
    node.setOptions(parts.options)
    node.setOptions(next)
    await wait(900)
    expect(port.sent).toHaveLength(1)
  })

  it('knows nothing of entries of other nodes where none is configured', () => {
    const { node } = bench()
    expect([node.findEntries('x'), node.withdrawEntry('x')]).toEqual([undefined, undefined])
  })

  it('asks the exchange with other nodes for its entries', () => {
    const asked: string[] = []
    const hills = {
      find: (words: string) => asked.push(`find ${words}`),
      withdraw: (id: string) => asked.push(`withdraw ${id}`),
    }
    const { node } = bench({ hills: () => hills as never })
    node.findEntries('a')
    node.withdrawEntry('b')
    expect(asked).toEqual(['find a', 'withdraw b'])
  })

  it('answers on the radio of a station, or on its first', async () => {
    const { clock } = bench()
    const ports = [new TestPort(clock, 3), new TestPort(clock, 5)] as const
    const { node, hear } = bench({ ports, clock })
    node.start()
    hear('N0CALL-7>APZ001:>x', ports[1])
    node.say({ to: 'N0CALL-7', text: 'to five' })
    node.say({ to: 'Q9NEW', text: 'to three' })
    await clock.advanceToAsync(5_000)
    expect(ports.map(({ sent }) => sent.map(({ line }) => /::(\S+)/.exec(line)?.[1]))).toEqual([
      ['Q9NEW'],
      ['N0CALL-7'],
    ])
  })

  it('without a radio keeps what the operator says', () => {
    const { node, store } = bench({ ports: [] })
    node.start()
    expect(node.say({ to: 'Q9NEW', text: 'x' })).toEqual({ ok: true, reference: 'M1' })
    expect(store.messages.find(1)?.radio).toBe(0)
  })
})

describe('what a frame is given to', () => {
  const taking = (isConnected: boolean) => {
    const took: string[] = []
    const member = (name: string, result = false) => ({
      ...{ start: () => took.push(`start ${name}`), stop: () => took.push(`stop ${name}`) },
      take() {
        took.push(name)
        return result
      },
    })
    const made = bench({
      digipeater: () => member('digipeater') as never,
      connected: () => member('connected', isConnected) as never,
      hills: () => member('hills') as never,
      email: () => member('email') as never,
    })
    made.node.start()
    return { ...made, took }
  }

  it('is connected mode, the digipeater and the exchange with other nodes, in this order', () => {
    const { hear, took, kinds } = taking(false)
    hear('N0CALL-7>APZ001:>x')
    expect(took).toEqual(['start hills', 'start email', 'connected', 'digipeater', 'hills'])
    expect(kinds()).toEqual(['started', 'heard'])
  })

  it('is not attention where it belongs to a connection', () => {
    const { hear, kinds, store } = taking(true)
    hear('N0CALL-7>APZ001:>x')
    expect(kinds()).toEqual(['started'])
    expect(store.stations.find('N0CALL-7')?.via).toEqual(['direct'])
    expect(store.frames.query()).toHaveLength(1)
  })

  it('is stopped in an order in which each can still take back what it gave', () => {
    const { node, took } = taking(false)
    took.length = 0
    node.stop()
    expect(took).toEqual(['stop hills', 'stop email', 'stop connected', 'stop digipeater'])
  })

  it('is told how far its station is, where both places are known', () => {
    let distanceM: (call: string) => number | undefined = () => 0
    const { node, hear } = bench({
      digipeater(parts) {
        distanceM = parts.distanceM
        return { take: () => {}, stop: () => {} } as never
      },
    })
    node.start()
    hear('N0CALL-7>APZ001:!4903.50N/07201.75W>')
    expect([distanceM('N0CALL-7'), distanceM('Q9NEW')]).toEqual([undefined, undefined])
    node.setPosition({ latitudeDeg: 49.0583333, longitudeDeg: -72.0291667 }, 'GPS')
    expect(distanceM('N0CALL-7')).toBeLessThan(1)
    expect(distanceM('Q9NEW')).toBeUndefined()
  })
})

describe('what a service is told', () => {
  it('is where and when the node is, as it is configured', async () => {
    const { node, look, parts, clock, store } = bench(
      {},
      {
        position: place,
        units: 'miles',
        heightM: 2_100,
        utcOffsetMinutes: 60,
        timeZone: '',
      },
    )
    node.start()
    const context = await look()
    expect(context.node).toEqual({
      ...{ call: 'N0DE-10', position: place, positionSource: 'config', timeSource: 'system' },
      ...{ utcOffsetMinutes: 60, utcOffsetMinutesAt: expect.any(Function), units: 'miles' },
      heightM: 2_100,
    })
    expect(context).toMatchObject({
      ...{ askerPosition: undefined, rehearsal: false, email: undefined },
      ...{ names: undefined, clockConfirmed: false },
    })
    expect(context.node.utcOffsetMinutesAt?.(0)).toBe(60)
    expect([context.services, context.stations]).toEqual([parts.services, store.stations])
    expect(context.clock.wallMs()).toBe(clock.wallMs())
  })

  it('is what GPS said, whatever is configured then', async () => {
    const { node, look, parts } = bench()
    node.start()
    expect((await look()).node).toMatchObject({ positionSource: 'unknown', position: undefined })
    node.setOptions({ ...parts.options, position: place })
    expect((await look()).node).toMatchObject({ positionSource: 'config', position: place })
    node.setPosition(elsewhere, 'GPS')
    node.setTimeSource('GPS')
    node.setOptions({ ...parts.options, position: place })
    expect((await look()).node).toMatchObject({
      ...{ positionSource: 'GPS', position: elsewhere, timeSource: 'GPS' },
    })
    expect(node.state().position).toEqual(elsewhere)
  })

  it('is where its asker is, with its age', async () => {
    const { node, look, hear, wait } = bench()
    node.start()
    hear('N0CALL-7>APZ001:!4930.00N/07200.00W>')
    await wait(100)
    const { askerPosition } = await look()
    expect(askerPosition).toEqual({
      latitudeDeg: 49.5,
      longitudeDeg: -72,
      ageMs: expect.any(Number),
    })
    expect(askerPosition!.ageMs).toBeGreaterThanOrEqual(100_000)
    expect((await look('Q9NEW')).askerPosition).toBeUndefined()
  })

  it('is whether the clock is trusted and confirmed, and what else is configured', async () => {
    const view = { view: 'mail' }
    const names = tacticalNames({
      ...{ entries: () => [], keeping: { all: () => new Map(), set: () => true } },
      ...{ isOn: () => true, isExercise: false, wallMs: () => 0, onChange: () => {} },
    })
    const { node, look } = bench({
      clockTrust: {
        ...{ trusted: () => true, confirmed: () => true, gpsSays: () => {}, wasAhead: () => {} },
        steps: { count: 0, lastMs: 0 },
      },
      email: () => ({ view, start: () => {}, stop: () => {} }) as never,
      hills: () =>
        ({
          ...{ stationsView: () => 'stations of all', start: () => {}, stop: () => {} },
          take: () => {},
        }) as never,
      event: { names, status: () => undefined, announcements: () => [] },
    })
    node.start()
    expect(await look()).toMatchObject({
      ...{ clockTrusted: true, clockConfirmed: true, email: view, stations: 'stations of all' },
      names,
    })
  })
})
