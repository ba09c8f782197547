import { type AddressInfo, createServer, type Server, type Socket } from 'node:net'
import type { Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'
import { quietEvents } from '../runtime/quietEvents.js'
import { createAllowList, isLoopback } from './allowList.js'
import type { KissHub } from './hub.js'

export interface TcpServerOptions {
  readonly hub: KissHub
  /** IP address to listen on, or 'localhost' */
  readonly address: string
  /** 0 takes any free port */
  readonly port: number
  /** addresses and ranges that may connect besides loopback */
  readonly allow: readonly string[]
  readonly clientsMax: number
  /** octets that may wait for a client before it is dropped */
  readonly bufferOctetsMax: number
  readonly clock: Clock
  /** told in words when a client comes, goes or is turned away */
  readonly onEvent: (text: string) => void
}

export interface TcpServerCounters {
  /** turned away because their address is not allowed */
  notAllowed: number
  /** turned away because there were clientsMax already */
  tooMany: number
  /** connections that ended with an error of the network */
  broken: number
  /** hung up on because they spoke HTTP: a web page had this machine's browser call us */
  notKiss: number
}

export interface KissTcpServer {
  readonly port: number
  readonly counters: Readonly<TcpServerCounters>
  /** Hangs up on everybody and stops listening. */
  close(): Promise<void>
}

/**
 * Offers KISS over TCP.
 * @throws Failure 'kiss-listen-open' beyond loopback without an allow-list, 'kiss-allow', or 'kiss-listen' when the
 *   address or the port cannot be had
 */
export async function startKissTcp(options: TcpServerOptions): Promise<KissTcpServer> {
  const { address, port, allow } = options
  if (!isLoopback(address) && allow.length === 0)
    throw new Failure({
      code: 'kiss-listen-open',
      subject: 'kiss.tcp.address',
      got: `${address} without kiss.tcp.allow`,
      expected: 'an allow-list for anything beyond loopback',
      advice:
        'whoever connects can key your transmitter: name their addresses, such as allow = ["192.168.7.0/24"]',
    })
  const allowList = createAllowList(allow)
  const counters: TcpServerCounters = { notAllowed: 0, tooMany: 0, broken: 0, notKiss: 0 }
  const sockets = new Set<Socket>()
  const tellQuietly = quietEvents(options.clock, options.onEvent)
  const server = createServer(
    { noDelay: true, keepAlive: true, keepAliveInitialDelay },
    (socket) => {
      const from = `${socket.remoteAddress}:${socket.remotePort}`
      const turnAway = (counter: 'notAllowed' | 'tooMany', why: string): void => {
        counters[counter]++
        tellQuietly(counter, `KISS client ${from} turned away: ${why}`)
        socket.on('error', () => {}) // it is going anyway
        socket.destroy()
      }
      if (!allowList.allows(socket.remoteAddress))
        turnAway('notAllowed', 'its address is not in kiss.tcp.allow')
      else if (sockets.size >= options.clientsMax)
        turnAway('tooMany', `${options.clientsMax} are connected`)
      else serve(socket, from, options, sockets, counters)
    },
  )
  await listen(server, address, port)
  server.on('error', (error) => options.onEvent(`KISS over TCP: ${errorText(error)}`))
  return {
    port: (server.address() as AddressInfo).port,
    counters,
    async close() {
      const closed = new Promise<void>((resolve) => server.close(() => resolve()))
      for (const socket of sockets) socket.destroy()
      await closed
    },
  }
}

/** Silence of a client after which it is asked whether it is still there, ms. */
const keepAliveInitialDelay = 30_000

/**
 * Any web page can have a browser on this machine post octets of its choice to a port on loopback, and KISS has no
 * password. But what it posts begins with a request line, as no KISS client does.
 */
const httpRequest = /^(GET|HEAD|POST|PUT|DELETE|CONNECT|OPTIONS|TRACE|PATCH) /
const headOctets = 8

function serve(
  socket: Socket,
  from: string,
  { hub, bufferOctetsMax, onEvent }: TcpServerOptions,
  sockets: Set<Socket>,
  counters: TcpServerCounters,
): void {
  sockets.add(socket)
  let why = 'it hung up'
  const session = hub.attach({
    name: `tcp ${from}`,
    write: (octets) => void socket.write(octets),
    waitingOctets: () => socket.writableLength,
    waitingOctetsMax: bufferOctetsMax,
    whenFull: 'client',
    drop() {
      why = 'it did not read what was heard'
      socket.destroy()
    },
  })
  onEvent(`KISS client ${from} connected`)
  let head = ''
  socket.on('data', (chunk: Uint8Array) => {
    if (head.length < headOctets) {
      head += String.fromCharCode(...chunk.subarray(0, headOctets - head.length))
      if (httpRequest.test(head)) {
        counters.notKiss++
        why = 'it is a web browser'
        socket.destroy()
        return
      }
    }
    session.push(chunk)
  })
  socket.on('error', (error) => {
    counters.broken++
    why = errorText(error)
  })
  socket.on('close', () => {
    sockets.delete(socket)
    session.detach()
    onEvent(`KISS client ${from} gone: ${why}`)
  })
}

function listen(server: Server, address: string, port: number): Promise<void> {
  return new Promise((resolve, reject) => {
    server.once('error', (cause) =>
      reject(
        new Failure({
          code: 'kiss-listen',
          subject: `KISS over TCP at ${address}:${port}`,
          got: errorText(cause),
          expected: 'an address of this machine and a free port',
          advice: 'choose another kiss.tcp.port, or set kiss.tcp.enabled = false',
          cause,
        }),
      ),
    )
    server.listen(port, address, () => {
      server.removeAllListeners('error')
      resolve()
    })
  })
}
