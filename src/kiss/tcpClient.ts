import type { Socket } from 'node:net'
import type { Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import { isLoopback } from './allowList.js'
import { clientAllowance, type KissHub } from './hub.js'

export interface TcpClientOptions {
  readonly hub: KissHub
  readonly clock: Clock
  /** octets that may wait for the client before it is dropped */
  readonly bufferOctetsMax: number
  /** address and port, for events */
  readonly from: string
  readonly onGone: (why: string, how: TcpClientEnd) => void
}

/** broken: an error of the network. notKiss: it spoke HTTP. */
export type TcpClientEnd = 'ended' | 'broken' | 'notKiss'

/** One client's connection; it ends by itself. */
export interface TcpClient {
  readonly socket: Socket
  /** @returns when the connection is gone, and everybody knows */
  hangUp(why: string): Promise<void>
}

/**
 * Any web page can have a browser on this machine post octets of its choice to a port on loopback, and KISS has no
 * password. But what it posts begins with a request line, as no KISS client does.
 */
const httpRequest = /^(GET|HEAD|POST|PUT|DELETE|CONNECT|OPTIONS|TRACE|PATCH) /
const headOctets = 8

/** Joins a connection to the hub. */
export function serveTcpClient(socket: Socket, options: TcpClientOptions): TcpClient {
  const { hub, clock, from } = options
  const allowance = clientAllowance(clock)
  let why = 'it hung up'
  let how: TcpClientEnd = 'ended'
  let tellGone = (): void => {}
  const gone = new Promise<void>((resolve) => {
    tellGone = resolve
  })
  const hangUp = (reason: string): Promise<void> => {
    why = reason
    socket.destroy()
    return gone
  }
  const session = hub.attach({
    name: `tcp ${from}`,
    isLocal: isLoopback(socket.remoteAddress ?? ''),
    write: (octets) => void socket.write(octets),
    waitingOctets: () => socket.writableLength,
    waitingOctetsMax: options.bufferOctetsMax,
    whenFull: 'client',
    drop: () => void hangUp('it did not read what was heard'),
  })
  let cancelPause = (): void => {}
  let head = ''
  socket.on('data', (chunk: Uint8Array) => {
    if (head.length < headOctets) {
      head += String.fromCharCode(...chunk.subarray(0, headOctets - head.length))
      if (httpRequest.test(head)) {
        how = 'notKiss'
        void hangUp('it is a web browser')
        return
      }
    }
    session.push(chunk)
    const waitMs = allowance.owe(chunk.length)
    if (waitMs === 0) return
    socket.pause()
    cancelPause = clock.at(clock.monotonicMs() + waitMs, () => void socket.resume())
  })
  socket.on('error', (error) => {
    how = 'broken'
    why = errorText(error)
  })
  socket.on('close', () => {
    cancelPause()
    session.detach()
    options.onGone(why, how)
    tellGone()
  })
  return { socket, hangUp }
}
