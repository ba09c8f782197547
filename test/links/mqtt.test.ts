import { createServer, type Server, type Socket } from 'node:net'
import { afterEach, describe, expect, it } from 'vitest'
import { type MqttOptions, mqttBroker } from '../../src/links/mqtt.js'
import { mqttSizeGuard } from '../../src/links/mqttSizeGuard.js'
import type { Broker, BrokerMessage } from '../../src/node/broker/broker.js'
import { seededRandom } from '../../src/runtime/random.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { mosquitto, noMosquitto } from './mosquitto.js'
import { certificateFile, cuttingLink, passwordFile } from './smtpServer.js'

const closers: (() => unknown)[] = []
afterEach(async () => {
  for (const close of closers.splice(0).reverse()) await close()
})

const message = (topic: string, text: string, retain = false): BrokerMessage => ({
  ...{ topic, payload: new TextEncoder().encode(text), retain, expiryMs: 60_000 },
})

interface Client {
  readonly broker: Broker
  readonly got: string[]
  readonly downs: string[]
  /** settles once it holds, looked at as things happen */
  until(what: () => boolean): Promise<void>
}

function client(port: number, more: Partial<MqttOptions> = {}, topics: string[] = []): Client {
  const broker = mqttBroker({
    clock: systemClock(),
    topics,
    will: message('t/gone', more.clientId ?? 'one', true),
    options: {
      ...{ host: '127.0.0.1', port, tls: false, caFile: '', user: '', passwordFile: '' },
      ...{ clientId: 'one', keepAliveS: 60, timeLimitMs: 20_000, retryMs: 50, retryMaxMs: 200 },
      ...more,
    },
  })
  const got: string[] = []
  const downs: string[] = []
  const waiting: { what: () => boolean; done: () => void }[] = []
  const look = (): void => {
    for (const one of waiting.splice(0))
      if (one.what()) one.done()
      else waiting.push(one)
  }
  broker.start({
    up: look,
    down: (reason) => {
      downs.push(reason)
      look()
    },
    message: (topic, payload) => {
      got.push(`${topic} ${Buffer.from(payload).toString()}`)
      look()
    },
  })
  closers.push(() => broker.stop())
  return {
    ...{ broker, got, downs },
    until: (what) =>
      new Promise((done) => {
        waiting.push({ what, done })
        look()
      }),
  }
}

const published = (broker: Broker, one: BrokerMessage): Promise<boolean> =>
  new Promise((resolve) => {
    if (!broker.publish(one, resolve)) resolve(false)
  })

describe.skipIf(noMosquitto !== undefined)(`a real broker (${noMosquitto ?? 'mosquitto'})`, () => {
  async function opened(more: Parameters<typeof mosquitto>[0] = {}) {
    const server = await mosquitto(more)
    closers.push(server.close)
    return server
  }

  it('hands on in order, and keeps what is retained for who comes later', async () => {
    const { port } = await opened()
    const one = client(port, {}, ['t/a'])
    await one.until(() => one.broker.state.isUp)
    expect(await published(one.broker, message('t/kept', 'level', true))).toBe(true)
    for (const text of ['1', '2', '3']) await published(one.broker, message('t/a', text))
    await one.until(() => one.got.length === 3)
    expect(one.got).toEqual(['t/a 1', 't/a 2', 't/a 3'])
    const late = client(port, { clientId: 'late' }, ['t/kept'])
    await late.until(() => late.got.length === 1)
    expect(late.got).toEqual(['t/kept level'])
    expect(late.broker.state).toMatchObject({ isUp: true, upCount: 1, heardCount: 1 })
  })

  it('tells the last word of who ends, and takes who comes back by the same name', async () => {
    const { port } = await opened()
    const watcher = client(port, { clientId: 'watcher' }, ['t/gone', 't/last'])
    const one = client(port)
    await Promise.all([one, watcher].map((each) => each.until(() => each.broker.state.isUp)))
    one.broker.stop(message('t/last', 'bye'))
    await watcher.until(() => watcher.got.length === 1)
    expect(watcher.got).toEqual(['t/last bye'])
    const again = client(port)
    await again.until(() => again.broker.state.isUp)
    expect(watcher.got).toEqual(['t/last bye'])
  })

  it('takes us with a login over TLS, and says why it does not', async () => {
    const { port } = await opened({ tls: true, login: true })
    const tls = { tls: true, caFile: certificateFile(), user: 'hill' }
    const good = client(port, { ...tls, passwordFile: passwordFile() })
    await good.until(() => good.broker.state.isUp)
    const wrong = client(port, { ...tls, clientId: 'w', passwordFile: passwordFile('other') })
    await wrong.until(() => wrong.downs.length > 0)
    expect(wrong.downs[0]).toBe('the broker refuses the login')
    const stranger = client(port, {
      ...tls,
      clientId: 's',
      caFile: '',
      passwordFile: passwordFile(),
    })
    await stranger.until(() => stranger.downs.length > 0)
    expect(stranger.downs[0]).toMatch(/^TLS with the broker failed/)
    const absent = client(port, { ...tls, clientId: 'a', passwordFile: '/nowhere' })
    await absent.until(() => absent.downs.length > 0)
    expect(absent.downs[0]).toBe('no such file')
    expect(absent.broker.state).toMatchObject({ isUp: false, trouble: 'no such file' })
  })

  it('is tried again until it is there, and after it was gone', async () => {
    const first = await mosquitto()
    const { port } = first
    await first.close()
    const one = client(port, {}, ['t/a'])
    await one.until(() => one.downs.length > 1)
    expect(one.downs[0]).toBe('connection refused: nothing listens there')
    expect(one.broker.publish(message('t/a', 'lost'))).toBe(false)
    const second = await mosquitto({ port })
    await one.until(() => one.broker.state.isUp)
    await second.close()
    await one.until(() => !one.broker.state.isUp)
    const third = await mosquitto({ port })
    closers.push(third.close)
    await one.until(() => one.broker.state.isUp)
    await published(one.broker, message('t/a', 'there'))
    await one.until(() => one.got.length === 1)
    expect(one.broker.state.upCount).toBe(2)
  })

  it('puts out who was there where two have the same name', async () => {
    const { port } = await opened()
    const one = client(port, { retryMs: 60_000, retryMaxMs: 60_000 })
    await one.until(() => one.broker.state.isUp)
    const other = client(port)
    await one.until(() => one.downs.length > 0)
    // Brokers say why (MQTT 5, 3.1.4), and close before that has been read.
    expect(one.downs[0]).toMatch(/^another client has our name|^the broker closed/)
    await other.until(() => other.broker.state.isUp)
  })

  it('is connected with after a cut at any octet, and what was not confirmed is known', async () => {
    const { port } = await opened()
    const link = await cuttingLink(port)
    closers.push(link.close)
    const reader = client(port, { clientId: 'reader' }, ['t/a'])
    await reader.until(() => reader.broker.state.isUp)
    const step = process.env.CUTS === 'all' ? 1 : 17
    let cuts = 0
    for (const way of ['to-server', 'from-server'] as const)
      for (let afterOctets = 0; ; afterOctets += step) {
        link.cut = { way, afterOctets }
        const one = client(link.port, { clientId: `cut${way}${afterOctets}` })
        await one.until(() => one.broker.state.isUp || one.downs.length > 0)
        const text = `${way} ${afterOctets}`
        const isTaken = one.broker.state.isUp && (await published(one.broker, message('t/a', text)))
        if (isTaken && one.downs.length === 0 && link.passed[way] < afterOctets) {
          one.broker.stop()
          break
        }
        cuts++
        link.cut = undefined
        if (!isTaken) {
          await one.until(() => one.broker.state.isUp)
          expect(await published(one.broker, message('t/a', text))).toBe(true)
        }
        await reader.until(() => reader.got.includes(`t/a ${text}`))
        one.broker.stop()
      }
    expect(cuts).toBeGreaterThan(step === 1 ? 100 : 6)
  })
})

describe('a broker that is hostile', () => {
  /** Takes whoever comes, and says what it likes. */
  async function hostile(say: (socket: Socket) => void): Promise<number> {
    const sockets = new Set<Socket>()
    const server: Server = createServer((socket) => {
      sockets.add(socket)
      socket.on('error', () => {})
      socket.once('data', () => say(socket))
    })
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
    closers.push(() => {
      for (const socket of sockets) socket.destroy()
      return new Promise((resolve) => server.close(resolve))
    })
    return (server.address() as { port: number }).port
  }
  /** CONNACK: taken, no session, no properties. */
  const taken = Buffer.from([0x20, 3, 0, 0, 0])

  it('cannot have us gather a packet of 256 MB', async () => {
    const port = await hostile((socket) => {
      socket.write(taken)
      // PUBLISH with the longest remaining length that there is.
      socket.write(Buffer.from([0x30, 0xff, 0xff, 0xff, 0x7f, 0, 1, 0x61, 0]))
      socket.write(Buffer.alloc(1_000_000))
    })
    const one = client(port)
    await one.until(() => one.downs.length > 1)
    expect(one.downs[0]).toMatch(/too large/)
    expect(one.got).toEqual([])
  })

  it('ends nothing whatever octets it sends', async () => {
    const random = seededRandom(5)
    const octets = (count: number): Buffer =>
      Buffer.from(Array.from({ length: count }, () => Math.floor(random() * 256)))
    let times = 0
    const port = await hostile((socket) => {
      if (times++ % 2 === 0) socket.write(taken)
      socket.write(octets(1 + Math.floor(random() * 200)))
      socket.end()
    })
    const one = client(port, { retryMs: 1, retryMaxMs: 1 })
    await one.until(() => one.downs.length > 100)
    expect(one.broker.state.isUp).toBe(false)
    for (const reason of new Set(one.downs)) expect(reason).toMatch(/^[\x20-\x7e]{5,200}$/)
  })
})

describe('the size of packets', () => {
  it('is seen by their fixed headers, however the octets come (MQTT 5, 2.1.4)', () => {
    // The limits of one to four octets: 127, 16,383, 2,097,151, 268,435,455 (table 1-1 of section 1.5.5).
    for (const [octets, length] of [
      [[0x7f], 127],
      [[0x80, 0x01], 128],
      [[0xff, 0x7f], 16_383],
      [[0x80, 0x80, 0x01], 16_384],
      [[0xff, 0xff, 0x7f], 2_097_151],
      [[0xff, 0xff, 0xff, 0x7f], 268_435_455],
    ] as const) {
      const packet = Uint8Array.from([0x30, ...octets])
      for (const [max, sound] of [
        [length, true],
        [length - 1, false],
      ] as const) {
        const guard = mqttSizeGuard(max)
        expect([...packet].map((octet) => guard.push(Uint8Array.of(octet))).at(-1)).toBe(sound)
      }
    }
    const guard = mqttSizeGuard(10)
    expect(guard.push(Uint8Array.from([0x30, 2, 1, 2, 0xd0, 0, 0x30, 10]))).toBe(true)
    expect(guard.push(new Uint8Array(10))).toBe(true)
    expect(guard.push(Uint8Array.from([0x30, 11]))).toBe(false)
    expect(mqttSizeGuard(10).push(Uint8Array.from([0x30, 0x80, 0x80, 0x80, 0x80]))).toBe(false)
  })
})
