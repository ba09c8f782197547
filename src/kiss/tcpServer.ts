import { type AddressInfo, createServer, type Server, type Socket } from 'node:net'
import { type Clock, every } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'
import { quietEvents } from '../runtime/quietEvents.js'
import { createAllowList, isLoopback, machineOf } from './allowList.js'
import { deadPeers, peerKey, readPeerTable } from './deadPeers.js'
import type { KissHub } from './hub.js'
import { serveTcpClient, type TcpClient } from './tcpClient.js'

export interface TcpServerOptions {
  readonly hub: KissHub
  /** IP address to listen on, or 'localhost' */
  readonly address: string
  /** 0 takes any free port */
  readonly port: number
  /** addresses and ranges that may connect besides loopback */
  readonly allow: readonly string[]
  readonly clientsMax: number
  /** connections of one machine; all of loopback are one */
  readonly clientsPerAddressMax: number
  /** octets that may wait for a client before it is dropped */
  readonly bufferOctetsMax: number
  readonly clock: Clock
  /** told in words when a client comes, goes or is turned away */
  readonly onEvent: (text: string) => void
  /** the kernel's table of connections; for tests */
  readonly peerTable?: () => string
}

export interface TcpServerCounters {
  /** turned away because their address is not allowed */
  notAllowed: number
  /** turned away because there were clientsMax already */
  tooMany: number
  /** turned away because there were clientsPerAddressMax of their machine already */
  tooManyOfOne: number
  /** connections that ended with an error of the network, some before they could be served */
  broken: number
  /** hung up on because they acknowledged nothing any more */
  dead: number
  /** hung up on because they spoke HTTP: a web page had this machine's browser call us */
  notKiss: number
}

export interface KissTcpServer {
  readonly port: number
  readonly counters: Readonly<TcpServerCounters>
  /** Hangs up on everybody and stops listening; nothing is told any more when this is done. */
  close(): Promise<void>
}

/** Silence of a client after which it is asked whether it is still there, ms; ten questions a second apart follow. */
const keepAliveInitialDelay = 30_000
const deadLookMs = 15_000
/** So many comings and goings of clients are told in a minute; more are counted. */
const toldWindowMs = 60_000
const toldBurst = 20

/**
 * Offers KISS over TCP.
 * @throws Failure 'kiss-listen-open' beyond loopback without an allow-list, 'kiss-allow', or 'kiss-listen' when the
 *   address or the port cannot be had
 */
export async function startKissTcp(options: TcpServerOptions): Promise<KissTcpServer> {
  const { address, port, allow, clock, onEvent } = options
  if (!isLoopback(address) && allow.length === 0)
    throw new Failure({
      code: 'kiss-listen-open',
      subject: 'kiss.tcp.address',
      got: `${address} without kiss.tcp.allow`,
      expected: 'an allow-list for anything beyond loopback',
      advice:
        'whoever connects can key your transmitter: name their addresses, such as allow = ["192.168.7.0/24"]',
    })
  const door = new Door(options)
  const server = createServer({ noDelay: true, keepAlive: true, keepAliveInitialDelay }, (socket) =>
    door.meet(socket),
  )
  await listen(server, address, port)
  server.on('error', (error) => onEvent(`KISS over TCP: ${errorText(error)}`))
  const cancelLook = every(clock, deadLookMs, () => door.dropDead())
  return {
    port: (server.address() as AddressInfo).port,
    counters: door.counters,
    async close() {
      cancelLook()
      const closed = new Promise<void>((resolve) => server.close(() => resolve()))
      // A server counts as closed before its clients' ends are known.
      await door.closeAll()
      await closed
    },
  }
}

/** Who is let in, and who is in. */
class Door {
  readonly counters: TcpServerCounters = {
    notAllowed: 0,
    tooMany: 0,
    tooManyOfOne: 0,
    broken: 0,
    dead: 0,
    notKiss: 0,
  }
  /** with the key of the machine that it comes from */
  private readonly clients = new Map<TcpClient, string>()
  private readonly allowList
  private readonly tell
  private readonly tellQuietly

  constructor(private readonly options: TcpServerOptions) {
    const { clock, onEvent, allow } = options
    this.allowList = createAllowList(allow)
    this.tell = quietEvents(clock, onEvent, toldWindowMs, toldBurst)
    this.tellQuietly = quietEvents(clock, onEvent)
  }

  meet(socket: Socket): void {
    const { remoteAddress, remotePort } = socket
    if (remoteAddress === undefined) {
      // It has reset the connection while it waited to be accepted: nobody knows any more who it was.
      this.turnAway(socket, 'broken', 'a KISS client hung up before it was served')
      return
    }
    const from = `${remoteAddress}:${remotePort}`
    const refusal = this.refusal(remoteAddress)
    if (refusal !== undefined) {
      const [counter, why] = refusal
      this.turnAway(socket, counter, `KISS client ${from} turned away: ${why}`)
      return
    }
    this.tell('connected', `KISS client ${from} connected`)
    const client = serveTcpClient(socket, {
      ...this.options,
      from,
      onGone: (why, how) => {
        if (how !== 'ended') this.counters[how]++
        this.clients.delete(client)
        this.tell('gone', `KISS client ${from} gone: ${why}`)
      },
    })
    this.clients.set(client, machineOf(remoteAddress))
  }

  /** Hangs up on clients whose machine is gone without a word. */
  dropDead(): void {
    if (this.clients.size === 0) return
    const dead = deadPeers((this.options.peerTable ?? readPeerTable)())
    for (const client of this.clients.keys()) {
      const { localPort = 0, remoteAddress = '', remotePort = 0 } = client.socket
      if (!dead.has(peerKey({ localPort, address: remoteAddress, port: remotePort }))) continue
      this.counters.dead++
      void client.hangUp('it acknowledges nothing any more')
    }
  }

  async closeAll(): Promise<void> {
    const clients = [...this.clients.keys()]
    await Promise.all(clients.map((client) => client.hangUp('the node is closing')))
  }

  private refusal(address: string): [keyof TcpServerCounters, string] | undefined {
    const { clientsMax, clientsPerAddressMax } = this.options
    if (!this.allowList.allows(address))
      return ['notAllowed', 'its address is not in kiss.tcp.allow']
    const machine = machineOf(address)
    const ofIt = [...this.clients.values()].filter((one) => one === machine).length
    if (ofIt >= clientsPerAddressMax)
      return ['tooManyOfOne', `${ofIt} of ${machine} are connected (kiss.tcp.clientsPerAddressMax)`]
    if (this.clients.size >= clientsMax)
      return ['tooMany', `${clientsMax} are connected (kiss.tcp.clientsMax)`]
    return undefined
  }

  private turnAway(socket: Socket, counter: keyof TcpServerCounters, text: string): void {
    this.counters[counter]++
    this.tellQuietly(counter, text)
    socket.on('error', () => {}) // it is going anyway
    socket.destroy()
  }
}

function listen(server: Server, address: string, port: number): Promise<void> {
  return new Promise((resolve, reject) => {
    server.once('error', (cause) =>
      reject(
        new Failure({
          code: 'kiss-listen',
          subject: `KISS over TCP at ${address}:${port}`,
          problem: `cannot be opened: ${errorText(cause)}`,
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
