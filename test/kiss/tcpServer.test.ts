import { execFileSync } from 'node:child_process'
import { networkInterfaces } from 'node:os'
import { afterEach, describe, expect, it } from 'vitest'
import { type ClientFrame, createKissHub, type HubOptions } from '../../src/kiss/hub.js'
import {
  type KissTcpServer,
  startKissTcp,
  type TcpServerOptions,
} from '../../src/kiss/tcpServer.js'
import { seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { eventLog, kissOctets, type PlainClient, plainClient } from './plainClient.js'

const open: { close(): unknown }[] = []
afterEach(async () => {
  for (const one of open.splice(0).reverse()) await one.close()
})

async function bench(
  change: Partial<HubOptions> &
    Partial<
      Pick<
        TcpServerOptions,
        'clientsMax' | 'clientsPerAddressMax' | 'address' | 'allow' | 'peerTable'
      >
    > = {},
) {
  const sent: ClientFrame[] = []
  const events = eventLog()
  const clock = virtualClock()
  let onSend: () => void = () => {}
  const hub = createKissHub({
    host: {
      radios: [0, 1],
      send: (frame) => {
        sent.push(frame)
        onSend()
      },
      refuse: () => {},
      malformed: () => {},
      gone: () => {},
      setParameters: () => true,
    },
    receiveOnly: false,
    parametersAllowed: true,
    ...change,
  })
  const server: KissTcpServer = await startKissTcp({
    hub,
    address: change.address ?? '127.0.0.1',
    port: 0,
    allow: change.allow ?? [],
    clientsMax: change.clientsMax ?? 20,
    clientsPerAddressMax: change.clientsPerAddressMax ?? 20,
    bufferOctetsMax: 65_536,
    clock,
    onEvent: events.add,
    ...(change.peerTable && { peerTable: change.peerTable }),
  })
  open.push(server)
  const client = async (host?: string): Promise<PlainClient> => {
    const one = await plainClient(server.port, host)
    open.push(one)
    await events.next(/connected|turned away/)
    return one
  }
  const sendings = (count: number): Promise<void> =>
    new Promise((resolve) => {
      onSend = () => {
        if (sent.length >= count) resolve()
      }
      onSend()
    })
  return { hub, server, sent, events, client, sendings, clock }
}

const frame = Buffer.from('an invented frame')

describe('KISS over TCP', () => {
  it('a client written with plain sockets drives two radios at once and hears both', async () => {
    const { hub, client, sent, sendings } = await bench()
    const one = await client()
    one.send(0x00, frame)
    one.send(0x10, Buffer.from([0xc0, 0xdb]))
    await sendings(2)
    expect(sent.map(({ radio, octets }) => [radio, Buffer.from(octets)])).toEqual([
      [0, frame],
      [1, Buffer.from([0xc0, 0xdb])],
    ])
    hub.heard(0, Buffer.from([0xdb]))
    hub.heard(1, frame)
    expect(await one.heard(2)).toEqual([
      Buffer.from([0x00, 0xdb]),
      Buffer.concat([Buffer.from([0x10]), frame]),
    ])
  })

  it('a client that does not read is dropped; another loses nothing', async () => {
    const { hub, server, events, client } = await bench()
    const slow = await client()
    slow.socket.pause()
    const fast = await client()
    const large = Buffer.alloc(1000, 0x41)
    let given = 0
    const dropped = events.next(/did not read what was heard/)
    let over = false
    void dropped.then(() => {
      over = true
    })
    // the kernel's own buffers fill first
    while (!over && given < 40_000) {
      for (let count = 0; count < 32; count++) hub.heard(0, large)
      given += 32
      await fast.heard(given)
    }
    expect(await dropped).toMatch(/gone/)
    hub.heard(0, frame)
    expect((await fast.heard(given + 1)).length).toBe(given + 1)
    expect(hub.counters).toMatchObject({ slowClients: 1, slowFrames: 0 })
    expect(hub.clients).toHaveLength(1)
    expect(server.counters).toMatchObject({ notAllowed: 0, tooMany: 0, broken: 0, notKiss: 0 })
  })

  it('a connection full of noise ends nothing', async () => {
    const { client, sent, hub, clock } = await bench()
    const arrival = async (): Promise<void> => {
      // who sends so much is read at a pace
      clock.advanceBy(1000)
      await new Promise((resolve) => setImmediate(resolve))
    }
    const [noisy, good] = [await client(), await client()]
    const random = seededRandom(5)
    const noise = Buffer.from(
      Array.from({ length: 300_000 }, () =>
        random() < 0.1 ? [0xc0, 0xdb, 0xff][Math.floor(random() * 3)]! : Math.floor(random() * 256),
      ),
    )
    noisy.sendRaw(noise)
    // its own good frame comes after all of it, so that all of it has been read
    noisy.sendRaw(Buffer.from('c000c0', 'hex'))
    noisy.send(0x00, Buffer.from('after the noise'))
    while (!sent.some(({ octets }) => Buffer.from(octets).equals(Buffer.from('after the noise'))))
      await arrival()
    const before = sent.length
    good.send(0x00, frame)
    while (sent.length === before) await arrival()
    expect(Buffer.from(sent.at(-1)!.octets)).toEqual(frame)
    expect(hub.counters.malformed).toBeGreaterThan(100)
  })

  it('a web page that has the browser post frames to the port keys nothing', async () => {
    const { client, server, sent } = await bench()
    const browser = await client()
    browser.sendRaw(Buffer.from('PO'))
    browser.sendRaw(Buffer.from('ST / HTTP/1.1\r\nHost: 127.0.0.1:18701\r\n\r\n'))
    browser.send(0x00, frame)
    await browser.gone
    expect(sent).toEqual([])
    expect(server.counters.notKiss).toBe(1)
    const really = await fetch(`http://127.0.0.1:${server.port}/`, {
      method: 'POST',
      body: Buffer.from([0xc0, 0x00, ...frame, 0xc0]),
    }).catch((error: Error) => error)
    expect(really).toBeInstanceOf(Error)
    expect(sent).toEqual([])
    expect(server.counters.notKiss).toBe(2)
  })

  it('a client that resets its connection in the middle of a frame is forgotten', async () => {
    const { client, events, hub } = await bench()
    const one = await client()
    one.sendRaw(Buffer.from('c00041', 'hex'))
    one.socket.resetAndDestroy()
    await events.next(/gone/)
    expect(hub.clients).toEqual([])
    hub.heard(0, frame)
  })

  it('a client that resets at once is counted, and leaves no name that it has not', async () => {
    const { server, events, hub } = await bench()
    // In a process of its own, while this one cannot accept: it is gone before it is met.
    const script = `const s = require('net').connect(${server.port}, '127.0.0.1', () => s.resetAndDestroy())`
    execFileSync(process.execPath, ['-e', script])
    expect(await events.next(/hung up|connected/)).toBe(
      'a KISS client hung up before it was served',
    )
    expect(server.counters.broken).toBe(1)
    expect(hub.clients).toEqual([])
  })

  it('one machine cannot take every place, however long it stays; who only listens may stay', async () => {
    const { client, server, hub, clock } = await bench({
      clientsPerAddressMax: 2,
      clientsMax: 3,
      peerTable: () => '',
    })
    const listener = await client()
    await client()
    const third = await client()
    await third.gone
    expect(server.counters.tooManyOfOne).toBe(1)
    clock.advanceBy(24 * 3_600_000)
    hub.heard(0, frame)
    await listener.heard(1)
    expect(hub.clients).toHaveLength(2)
  })

  it('one client that floods is read at a pace; another is served meanwhile', async () => {
    const { client, sent, sendings, clock } = await bench()
    const [flood, good] = [await client(), await client()]
    const many = Buffer.concat(Array.from({ length: 20_000 }, () => kissOctets(0x00, frame)))
    flood.sendRaw(many)
    // as much as there may be at once, and the chunk in which that ends
    const atOnceMax = (2 * 65_536) / (frame.length + 3)
    good.send(0x10, frame)
    while (!sent.some(({ radio }) => radio === 1))
      await new Promise((resolve) => setImmediate(resolve))
    for (let turn = 0; turn < 100; turn++) await new Promise((resolve) => setImmediate(resolve))
    expect(sent.length).toBeLessThan(atOnceMax + 2)
    // nothing of it is lost: it comes with time
    while (sent.length < 20_001) {
      clock.advanceBy(1000)
      await new Promise((resolve) => setImmediate(resolve))
    }
    await sendings(20_001)
  })

  it('hangs up on a client that acknowledges nothing any more, and on no other', async () => {
    const table: string[] = []
    const { client, server, events, hub, clock } = await bench({
      peerTable: () => table.join('\n'),
    })
    const [dead, alive] = [await client(), await client()]
    const hexPort = (port: number): string => port.toString(16).toUpperCase().padStart(4, '0')
    const line = (port: number, repeats: string): string =>
      `   1: 0100007F:${hexPort(server.port)} 0100007F:${hexPort(port)} 01 000004E8:00000000 01:00000A5C ${repeats}     0        0 25976 2 0000000087e27445 100 0 0 10 0`
    table.push(line(dead.socket.localPort!, '00000008'), line(alive.socket.localPort!, '00000007'))
    clock.advanceBy(15_000)
    await dead.gone
    expect(await events.next(/gone/)).toMatch(/acknowledges nothing any more/)
    expect(server.counters.dead).toBe(1)
    hub.heard(0, frame)
    await alive.heard(1)
  })

  it('turns away more clients than it may have', async () => {
    const { client, server } = await bench({ clientsMax: 1 })
    const first = await client()
    const second = await client()
    await second.gone
    expect(server.counters.tooMany).toBe(1)
    first.close()
    await first.gone
  })

  it('refuses to listen beyond loopback without an allow-list', async () => {
    for (const address of ['0.0.0.0', '::', '192.0.2.1'])
      await expect(bench({ address })).rejects.toThrow(
        /got .* without kiss.tcp.allow, expected an allow-list .* can key your transmitter/,
      )
  })

  const outside = Object.values(networkInterfaces())
    .flat()
    .find((one) => one?.family === 'IPv4' && !one.internal)?.address
  describe.skipIf(outside === undefined)('beyond loopback (needs a network interface)', () => {
    it('an address that is not allowed is turned away, loopback and a listed one are not', async () => {
      const closed = await bench({ address: '0.0.0.0', allow: ['203.0.113.0/24'] })
      const stranger = await closed.client(outside)
      await stranger.gone
      expect(closed.server.counters.notAllowed).toBe(1)
      const local = await closed.client('127.0.0.1')
      closed.hub.heard(0, frame)
      await local.heard(1)
      expect(stranger.frames).toEqual([])

      const opened = await bench({ address: '0.0.0.0', allow: [`${outside}/32`] })
      const guest = await opened.client(outside)
      opened.hub.heard(0, frame)
      await guest.heard(1)
    })
  })

  it('says which port is taken', async () => {
    const { server, hub } = await bench()
    const again = startKissTcp({
      hub,
      address: '127.0.0.1',
      port: server.port,
      allow: [],
      clientsMax: 1,
      clientsPerAddressMax: 1,
      bufferOctetsMax: 65_536,
      clock: virtualClock(),
      onEvent: () => {},
    })
    await expect(again).rejects.toThrow(
      new RegExp(
        `KISS over TCP at 127.0.0.1:${server.port}: cannot be opened: the address is in use by another program.*choose another`,
      ),
    )
  })

  it('closing hangs up on everybody', async () => {
    const { client, server, hub } = await bench()
    const one = await client()
    await server.close()
    // all of it is told by now: what keeps it may be closed next
    expect(hub.clients).toEqual([])
    await one.gone
  })
})
