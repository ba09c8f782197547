import { describe, expect, it } from 'vitest'
import { encodeFrame, uiFrame } from '../../src/ax25/frame.js'
import { parseLine } from '../../src/ax25/line.js'
import { createKissHub } from '../../src/kiss/hub.js'
import { createKissHost, type KissHostOptions } from '../../src/radio/kissHost.js'
import type { HeardFrame, Port, TransmitOutcome, TransmitRequest } from '../../src/radio/port.js'
import type { RadioPort } from '../../src/radio/radioPort.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { kissOctets } from '../kiss/plainClient.js'
import { clientDefaults, collectedRecord } from './clientRecords.js'
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

function bench(change: Partial<KissHostOptions> = {}) {
  const clock = virtualClock()
  const radios = [port(0), port(1)] as const
  const { record, lines: events } = collectedRecord()
  let ids = 0
  const host = createKissHost({
    ports: radios.map((one) => one.port),
    clock,
    nextId: () => `id-${++ids}`,
    frameLifeMs: 120_000,
    ...clientDefaults,
    record,
    ...change,
  })
  const hub = createKissHub({
    host,
    receiveOnly: false,
    parametersAllowed: true,
  })
  host.connect(hub)
  const written: Buffer[] = []
  const client = (name: string, isLocal = true) =>
    hub.attach({
      name,
      isLocal,
      write: (octets) => void written.push(Buffer.from(octets)),
      waitingOctets: () => 0,
      waitingOctetsMax: 65_536,
      whenFull: 'client',
      drop: () => {},
    })
  const session = client('tcp 127.0.0.1:5')
  return { clock, radios, events, host, hub, session, client, written }
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
    const what = 'tcp 127.0.0.1:5 N0CALL-5>APZTST:>invented'
    expect(events).toEqual([
      `taken ${what}`,
      `taken ${what}`,
      `sent ${what}`,
      `expired ${what} (waited 120 s)`,
    ])
  })

  it('a frame without readable addresses never becomes a request', () => {
    const { radios, session, host, events } = bench()
    session.push(kissOctets(0x00, Buffer.from('hello')))
    expect(radios[0].requests).toEqual([])
    expect(host.counters.notAx25).toBe(1)
    expect(events).toEqual([expect.stringMatching(/^refused tcp .*: no AX.25 frame/)])
  })

  it('parameters reach the radio that they are for', () => {
    const { radios, session, events } = bench()
    session.push(kissOctets(0x11, Buffer.from([40])))
    expect(radios[0].changes).toEqual([])
    expect(radios[1].changes).toEqual([{ keyDelayMs: 400 }])
    expect(events).toEqual(['tcp 127.0.0.1:5 set radio 1 to key delay 400 ms'])
  })

  const duplex = (on: number): Buffer => kissOctets(0x05, Buffer.from([on]))

  it('full duplex is refused, counted and told of once; the channel stays half duplex', () => {
    const { radios, session, host, hub, events } = bench()
    session.push(Buffer.concat([duplex(1), duplex(255), kissOctets(0x15, Buffer.from([1]))]))
    expect(radios.map(({ changes }) => changes)).toEqual([[], []])
    expect(host.counters.fullDuplexRefused).toBe(3)
    expect(hub.counters).toMatchObject({ parametersSet: 0, parametersRefused: 3 })
    expect(events).toEqual([expect.stringMatching(/full duplex: refused, radio 0.*Allowed/)])
    // what is no loosening passes, and other settings do
    session.push(Buffer.concat([duplex(0), kissOctets(0x01, Buffer.from([40]))]))
    expect(radios[0].changes).toEqual([{ keyDelayMs: 400 }])
  })

  it('full duplex may be switched on where the licensee allows it', () => {
    const { radios, session, host } = bench({ fullDuplexAllowed: true })
    session.push(Buffer.concat([duplex(1), duplex(0)]))
    expect(radios[0].changes).toEqual([{ fullDuplex: true }, { fullDuplex: false }])
    expect(host.counters.fullDuplexRefused).toBe(0)
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
    const { clock, session, radios, host } = bench()
    const flood = Buffer.concat(Array.from({ length: 1000 }, () => kissOctets(0x00, octets)))
    for (let count = 0; count < 20; count++) session.push(flood)
    expect(radios[0].requests.length).toBe(100)
    expect(host.counters.refused).toBe(19_900)
    // the other radio has an allowance of its own
    session.push(kissOctets(0x10, octets))
    expect(radios[1].requests.length).toBe(1)
    // as many as may wait do wait; with them gone, more are taken, at the pace of a second's worth
    clock.advanceBy(1000)
    session.push(flood)
    expect(radios[0].requests.length).toBe(100)
    for (const { id } of radios[0].requests)
      radios[0].settle({ id, kind: 'expired', atMs: 0, reason: 'waited' })
    session.push(flood)
    expect(radios[0].requests.length).toBe(110)
    for (let count = 0; count < 5000; count++)
      session.push(kissOctets(0x01, Buffer.from([40 + (count % 60)])))
    expect(radios[0].changes).toHaveLength(100)
  })

  const frameOf = (line: string): Buffer => {
    const read = parseLine(line, { strict: false })
    if (!read.ok) throw new Error(read.reason)
    return Buffer.from(encodeFrame(read.frame))
  }
  const rows: readonly (readonly [what: string, line: string, refused: RegExp | undefined])[] = [
    ['own call', 'Q7RDG-3>APZ000:>x', undefined],
    ['own call without SSID', 'Q7RDG>APZ000:>x', undefined],
    ['repeated by the own call', 'Q6BBS>APZ000,Q7RDG-10*,WIDE2-1:>x', undefined],
    ['another call', 'Q6BBS>APZ000:>x', /from Q6BBS: only Q7RDG with any SSID/],
    ['to be repeated by the own call, but not yet', 'Q6BBS>APZ000,Q7RDG-10:>x', /only Q7RDG/],
    ['a call that begins alike', 'Q7RDGX>APZ000:>x', /only Q7RDG/],
    ['to the own call', 'Q6BBS>Q7RDG-10:>x', /only Q7RDG/],
  ]
  it.each(rows)('from another machine, %s', (_, line, refused) => {
    const { radios, client, events, host } = bench()
    client('tcp 192.0.2.7:50000', false).push(kissOctets(0x00, frameOf(line)))
    expect(radios[0].requests).toHaveLength(refused === undefined ? 1 : 0)
    expect(events).toEqual([
      refused === undefined ? `taken tcp 192.0.2.7:50000 ${line}` : expect.stringMatching(refused),
    ])
    expect(host.counters.notPermitted).toBe(refused === undefined ? 0 : 1)
  })

  it('what clients may send is for the licensee to say', () => {
    const { radios, client, session } = bench({ localMaySend: 'nothing', remoteMaySend: 'any' })
    session.push(kissOctets(0x00, frameOf('Q7RDG>APZ000:>x')))
    expect(radios[0].requests).toEqual([])
    client('tcp 192.0.2.7:50000', false).push(kissOctets(0x00, frameOf('Q6BBS>APZ000:>x')))
    expect(radios[0].requests).toHaveLength(1)
  })

  it.each([
    ['a call sign in small letters', 'Q7RDG>APZ000,%61bc:>x', /'aBC' is not a call sign/],
    ['a call sign with a blank inside', 'Q7 DG>APZ000:>x', /'Q7 DG' is not a call sign/],
    ['no call sign at all', '>APZ000:>x', /'' is not a call sign/],
    ['9 digipeaters', `Q7RDG>APZ000${',Q6DIG'.repeat(9)}:>x`, /9 digipeaters: at most 8/],
    ['too much', `Q7RDG>APZ000:${'x'.repeat(1025)}`, /1025 octets of information: at most 1024/],
  ])('refuses a frame with %s', (_, line, reason) => {
    const { radios, session, events, host } = bench()
    session.push(kissOctets(0x00, frameOf(line)))
    expect(radios[0].requests).toEqual([])
    expect(events).toEqual([expect.stringMatching(reason)])
    expect(host.counters.notAx25).toBe(1)
  })

  it('takes 8 digipeaters and 1024 octets', () => {
    const { radios, session } = bench()
    session.push(kissOctets(0, frameOf(`Q7RDG>APZ000${',Q6DIG'.repeat(8)}:${'x'.repeat(1024)}`)))
    expect(radios[0].requests).toHaveLength(1)
  })

  const set = (command: number, value: number): Buffer => kissOctets(command, Buffer.from([value]))

  it("one client's settings end with it; of several, the latest that is connected decides", () => {
    const { radios, client } = bench()
    const configured = radios[0].port.access()
    const [one, two] = [client('one'), client('two')]
    one.push(set(0x01, 50))
    one.push(set(0x02, 200))
    two.push(set(0x01, 70))
    expect(radios[0].port.access()).toEqual({ ...configured, keyDelayMs: 700, persistence: 200 })
    one.push(set(0x01, 60))
    expect(radios[0].port.access()).toMatchObject({ keyDelayMs: 600 })
    one.detach()
    expect(radios[0].port.access()).toEqual({ ...configured, keyDelayMs: 700 })
    two.detach()
    expect(radios[0].port.access()).toEqual(configured)
  })

  it('no settings keep the node from answering: the mean wait, key delay and tail have bounds', () => {
    const { radios, session, events } = bench()
    const { keyDelayMs, tailMs } = radios[0].port.access()
    session.push(Buffer.concat([set(2, 0), set(3, 255), set(1, 255), set(4, 255)]))
    const access = radios[0].port.access()
    const meanWaitMs = access.slotTimeMs * (256 / (access.persistence + 1) - 1)
    expect(access).toMatchObject({ slotTimeMs: 2550, keyDelayMs: 1000, tailMs: 500 })
    expect(meanWaitMs).toBeLessThanOrEqual(5000)
    expect(meanWaitMs).toBeGreaterThan(4900)
    expect(events.join('\n')).toMatch(/set radio 0 to slot time 2550 ms; within the limits.*P 86/)
    // the radio needs the key delay that was measured
    session.push(Buffer.concat([set(1, 0), set(4, 0)]))
    expect(radios[0].port.access()).toMatchObject({ keyDelayMs, tailMs })
  })

  it('what a client had set goes with it, and is told; one that had set nothing goes without a word', () => {
    const { radios, session, client, host, events } = bench()
    const before = radios[0].port.access()
    const other = client('tcp 127.0.0.1:6')
    other.push(kissOctets(0x00, octets))
    session.push(set(1, 40))
    expect(radios[0].port.access().keyDelayMs).toBe(400)
    events.length = 0
    other.detach()
    expect(events).toEqual([])
    session.detach()
    expect(radios[0].port.access()).toEqual(before)
    expect(events).toEqual([
      expect.stringMatching(
        /^tcp 127\.0\.0\.1:5 is gone, and with it what it had set: radio 0 has key delay \d+ ms/,
      ),
    ])
    host.gone({ name: 'nobody', isLocal: true } as never)
    expect(events).toHaveLength(1)
  })

  it('every pair of P and SlotTime stays within the mean wait', () => {
    const { clock, radios, session } = bench()
    for (let persistence = 0; persistence < 256; persistence += 5)
      for (let slot = 0; slot < 256; slot += 5) {
        clock.advanceBy(1000)
        session.push(Buffer.concat([set(2, persistence), set(3, slot)]))
        const access = radios[0].port.access()
        const meanWaitMs = access.slotTimeMs * (256 / (access.persistence + 1) - 1)
        expect(meanWaitMs).toBeLessThanOrEqual(5000)
        expect(access.persistence).toBeGreaterThanOrEqual(persistence)
        expect(access.slotTimeMs).toBe(slot * 10)
      }
  })
})
