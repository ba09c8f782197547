import { describe, expect, it } from 'vitest'
import { encodeFrame, uiFrame } from '../../src/ax25/frame.js'
import { createKissHub } from '../../src/kiss/hub.js'
import { createKissHost } from '../../src/radio/kissHost.js'
import type { HeardFrame, Port, TransmitOutcome, TransmitRequest } from '../../src/radio/port.js'
import type { RadioPort } from '../../src/radio/radioPort.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { kissOctets } from '../kiss/plainClient.js'
import { transmitDefaults, unlimitedAirtime } from './fixtures.js'

/** A port that keeps what it is given; what becomes of it is for the test to say. */
function port(radio: number) {
  const frameListeners: ((frame: HeardFrame) => void)[] = []
  const outcomeListeners: ((outcome: TransmitOutcome) => void)[] = []
  const requests: TransmitRequest[] = []
  const changes: unknown[] = []
  let access = transmitDefaults.access
  const asPort: Port & Pick<RadioPort, 'access' | 'setAccess'> = {
    radio,
    name: `radio ${radio}`,
    send: (request) => void requests.push(request),
    withdraw: () => {},
    airtime: () => unlimitedAirtime(0),
    onFrame: (listener) => void frameListeners.push(listener),
    onOutcome: (listener) => void outcomeListeners.push(listener),
    access: () => access,
    setAccess: (change) => {
      changes.push(change)
      access = { ...access, ...change }
    },
    state: () => ({
      receiving: true,
      channelBusy: false,
      keyed: false,
      queuedCount: 0,
      dutyUsed: 0,
    }),
    close: async () => {},
  }
  return {
    port: asPort,
    requests,
    changes,
    hear: (octets: Uint8Array, repairedBits = 0) => {
      for (const listener of frameListeners)
        listener({
          octets,
          radio,
          heardAtMs: 0,
          heardAtWallMs: 0,
          repairedBits,
          detector: 'test',
        })
    },
    settle: (outcome: TransmitOutcome) => {
      for (const listener of outcomeListeners) listener(outcome)
    },
  }
}

function bench(fullDuplexAllowed?: boolean) {
  const clock = virtualClock()
  const radios = [port(0), port(1)] as const
  const events: string[] = []
  let ids = 0
  const host = createKissHost({
    ports: radios.map((one) => one.port),
    clock,
    nextId: () => `id-${++ids}`,
    frameLifeMs: 120_000,
    ...(fullDuplexAllowed === undefined ? {} : { fullDuplexAllowed }),
    onEvent: (text) => events.push(text),
  })
  const hub = createKissHub({
    host,
    receiveOnly: false,
    parametersAllowed: true,
  })
  host.connect(hub)
  const written: Buffer[] = []
  const session = hub.attach({
    name: 'tcp 127.0.0.1:5',
    write: (octets) => void written.push(Buffer.from(octets)),
    waitingOctets: () => 0,
    waitingOctetsMax: 65_536,
    whenFull: 'client',
    drop: () => {},
  })
  return { clock, radios, events, host, hub, session, written }
}

const octets = encodeFrame(
  uiFrame({
    source: { call: 'N0CALL', ssid: 5 },
    destination: { call: 'APZTST', ssid: 0 },
    path: [],
    payload: Buffer.from('>invented'),
  }),
)

describe('KISS clients and the ports', () => {
  it("a client's frame becomes a transmit request of its radio", () => {
    const { clock, radios, session } = bench()
    clock.advanceTo(5000)
    session.push(kissOctets(0x10, octets))
    expect(radios[0].requests).toEqual([])
    expect(radios[1].requests).toEqual([
      { id: 'id-1', octets, priority: 'client', notAfterMs: 125_000, origin: 'kiss' },
    ])
  })

  it('a client that asked is told when its frame was sent, and only then', () => {
    const { radios, session, written, host, events } = bench()
    const asked = Buffer.concat([Buffer.from([1, 2]), octets])
    session.push(kissOctets(0x0c, asked))
    session.push(kissOctets(0x0c, asked))
    radios[0].settle({ id: 'id-1', kind: 'held', atMs: 1, reason: 'duty' })
    radios[0].settle({ id: 'id-9', kind: 'sent', atMs: 1, airtimeMs: 1 })
    expect(written).toEqual([])
    radios[0].settle({ id: 'id-1', kind: 'sent', atMs: 1, airtimeMs: 1 })
    radios[0].settle({ id: 'id-2', kind: 'expired', atMs: 1, reason: 'waited 120 s' })
    expect(written).toEqual([kissOctets(0x0c, Buffer.from([1, 2]))])
    expect(host.counters).toMatchObject({ sent: 1, refused: 0, expired: 1, notAx25: 0 })
    expect(events).toEqual(['frame of KISS client tcp 127.0.0.1:5 expired: waited 120 s'])
  })

  it('a frame without readable addresses never becomes a request', () => {
    const { radios, session, host, events } = bench()
    session.push(kissOctets(0x00, Buffer.from('hello')))
    expect(radios[0].requests).toEqual([])
    expect(host.counters.notAx25).toBe(1)
    expect(events[0]).toMatch(/refused: no AX.25 frame/)
  })

  it('parameters reach the radio that they are for', () => {
    const { radios, session } = bench()
    session.push(kissOctets(0x11, Buffer.from([40])))
    expect(radios[0].changes).toEqual([])
    expect(radios[1].changes).toEqual([{ keyDelayMs: 400 }])
  })

  const duplex = (on: number): Buffer => kissOctets(0x05, Buffer.from([on]))

  it('full duplex is refused, counted and told of once; the channel stays half duplex', () => {
    const { radios, session, host, hub, events } = bench()
    session.push(Buffer.concat([duplex(1), duplex(255), kissOctets(0x15, Buffer.from([1]))]))
    expect(radios.map(({ changes }) => changes)).toEqual([[], []])
    expect(host.counters.fullDuplexRefused).toBe(3)
    expect(hub.counters).toMatchObject({ parametersSet: 0, parametersRefused: 3 })
    expect(events).toEqual([expect.stringMatching(/radio 0 goes on listening.*fullDuplexAllowed/)])
    // what is no loosening passes, and other settings do
    session.push(Buffer.concat([duplex(0), kissOctets(0x01, Buffer.from([40]))]))
    expect(radios[0].changes).toEqual([{ fullDuplex: false }, { keyDelayMs: 400 }])
  })

  it('full duplex may be switched on where the licensee allows it', () => {
    const { radios, session, host, events } = bench(true)
    session.push(Buffer.concat([duplex(1), duplex(0)]))
    expect(radios[0].changes).toEqual([{ fullDuplex: true }, { fullDuplex: false }])
    expect(host.counters.fullDuplexRefused).toBe(0)
    expect(events).toEqual([])
  })

  it('a radio that the licensee set to full duplex may be told to stay so', () => {
    const { radios, session, host } = bench()
    radios[0].port.setAccess({ fullDuplex: true })
    session.push(duplex(1))
    expect(radios[0].changes).toHaveLength(2)
    expect(host.counters.fullDuplexRefused).toBe(0)
  })

  it('clients hear what the node would act on: no frame repaired by more than one bit', () => {
    const { radios, written } = bench()
    radios[1].hear(octets)
    radios[0].hear(octets, 1)
    radios[0].hear(octets, 2)
    expect(written).toEqual([kissOctets(0x10, octets), kissOctets(0x00, octets)])
  })

  it('a client that floods a radio fills neither its thread nor the log, and is taken again later', () => {
    const { clock, session, radios, host, events } = bench()
    const flood = Buffer.concat(Array.from({ length: 1000 }, () => kissOctets(0x00, octets)))
    for (let count = 0; count < 20; count++) session.push(flood)
    expect(radios[0].requests.length).toBe(100)
    expect(host.counters.refused).toBe(19_900)
    expect(events.filter((text) => /frames a second/.test(text))).toHaveLength(1)
    // the other radio has an allowance of its own
    session.push(kissOctets(0x10, octets))
    expect(radios[1].requests.length).toBe(1)
    clock.advanceBy(1000)
    session.push(flood)
    expect(radios[0].requests.length).toBe(110)
    for (let count = 0; count < 5000; count++) session.push(kissOctets(0x01, Buffer.from([30])))
    expect(radios[0].changes).toHaveLength(100)
  })
})
