import { createServer, type Server, type Socket } from 'node:net'
import { afterEach, describe, expect, it } from 'vitest'
import { createModemLink, type ModemLink } from '../../src/kiss/modemLink.js'
import { tcpStream } from '../../src/kiss/streams.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { eventLog, kissOctets } from './plainClient.js'

const open: { close(): unknown }[] = []
afterEach(() => {
  for (const one of open.splice(0).reverse()) one.close()
})

/** A modem of the tests' own: plain sockets, no code of ours. */
async function modem(port = 0) {
  const sockets: Socket[] = []
  const received: Buffer[] = []
  const log = eventLog()
  const server: Server = createServer((socket) => {
    sockets.push(socket)
    socket.on('error', () => {})
    socket.on('data', (chunk: Buffer) => {
      received.push(chunk)
      log.add(Buffer.concat(received).toString('hex'))
    })
    log.add('connected')
  })
  await new Promise<void>((resolve) => server.listen(port, '127.0.0.1', resolve))
  const close = () => {
    for (const socket of sockets) socket.destroy()
    server.close()
  }
  open.push({ close })
  return {
    port: (server.address() as { port: number }).port,
    received,
    log,
    say: (octets: Uint8Array) => void sockets.at(-1)!.write(octets),
    close,
  }
}

function link(port: number, bufferOctetsMax = 4096) {
  const clock = virtualClock()
  const log = eventLog()
  const heard: Buffer[] = []
  const one: ModemLink = createModemLink({
    open: (handlers) =>
      tcpStream(
        '127.0.0.1',
        port,
      )({
        ...handlers,
        onOpen() {
          handlers.onOpen()
          log.add('reached')
        },
      }),
    clock,
    modemPort: 2,
    startup: [],
    silentAfterMs: 0,
    bufferOctetsMax,
    delayMs: 1000,
    delayMsMax: 60_000,
    openMsMax: 10_000,
    onFrame: (octets) => {
      heard.push(Buffer.from(octets))
      log.add(`heard ${Buffer.from(octets).toString('latin1')}`)
    },
    onState: (lost) => log.add(lost === undefined ? 'connected' : `lost: ${lost}`),
    onSilent: () => {},
  })
  open.push(one)
  const connected = async (): Promise<void> => {
    await log.next(/reached/)
    // a second in which a modem in its text mode would have said so
    clock.advanceBy(1000)
    await log.next(/connected/)
  }
  return { clock, log, heard, one, connected }
}

describe('a link to an external KISS modem', () => {
  it('sets its parameters, sends and hears frames of its own port only', async () => {
    const far = await modem()
    const { log, one, connected } = link(far.port)
    one.setParameters({ keyDelayMs: 300, persistence: 63 })
    await connected()
    const parameters = Buffer.concat([
      kissOctets(0x21, Buffer.from([30])),
      kissOctets(0x22, Buffer.from([63])),
    ])
    await far.log.next(new RegExp(parameters.toString('hex')))
    expect(one.sendFrames([Buffer.from('sent')])).toBeUndefined()
    await far.log.next(new RegExp(kissOctets(0x20, Buffer.from('sent')).toString('hex')))
    far.say(kissOctets(0x00, Buffer.from('other port')))
    far.say(kissOctets(0x26, Buffer.from('no data')))
    far.say(Buffer.from('c020db00c0', 'hex'))
    far.say(kissOctets(0x20, Buffer.from('ours')))
    await log.next(/heard ours/)
    expect(one.counters).toMatchObject({
      framesIn: 1,
      framesOut: 1,
      otherPort: 1,
      ignored: 1,
      malformed: 1,
    })
  })

  it('is made anew when the modem goes and comes back, with its parameters', async () => {
    const far = await modem()
    const { clock, log, one, connected } = link(far.port)
    one.setParameters({ tailMs: 50 })
    await connected()
    far.close()
    await log.next(/lost/)
    expect(one.connected).toBe(false)
    expect(one.sendFrames([Buffer.from('x')])).toBe('the modem is not connected')
    clock.advanceTo(one.nextAttemptMs!)
    await log.next(/lost: connection refused/)
    const back = await modem(far.port)
    clock.advanceTo(one.nextAttemptMs!)
    await connected()
    await back.log.next(new RegExp(kissOctets(0x24, Buffer.from([5])).toString('hex')))
    expect(one.counters).toMatchObject({ opened: 2, failed: 1, lost: 1 })
  })

  it('refuses a frame when the modem does not read, and says so', async () => {
    const far = await modem()
    const { one, connected } = link(far.port, 100)
    await connected()
    expect(one.sendFrames([Buffer.alloc(99)])).toBe('the modem takes no more octets')
    expect(one.sendFrames([Buffer.alloc(50)])).toBeUndefined()
  })
})
