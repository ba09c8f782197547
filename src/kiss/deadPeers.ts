import { readFileSync } from 'node:fs'
import { SocketAddress } from 'node:net'
import { plainAddress } from './allowList.js'

/** The far end of a TCP connection of this machine. */
export interface Peer {
  readonly localPort: number
  readonly address: string
  readonly port: number
}

/**
 * Repeats without an answer after which a peer is taken for dead. The kernel doubles its wait, beginning with 0.2 s or
 * more, so that eight of them are some 50 s; fewer where its own line is down (27 s on a line that was cut, by trial).
 */
const unansweredMax = 8

/**
 * Peers that have acknowledged nothing of what they were sent for half a minute to a minute. TCP keep-alive finds only the dead to
 * whom nothing was sent: it rests while something waits for an acknowledgement, and the kernel then repeats that for a
 * quarter of an hour. A client on a channel where something is heard is nearly always sent something.
 * @param table as the kernel writes it
 * @returns a key a peer, as peerKey makes it
 * @see proc_pid_net(5), tcp(7)
 */
export function deadPeers(table: string, repeatsMin = unansweredMax): ReadonlySet<string> {
  const dead = new Set<string>()
  for (const line of table.split('\n')) {
    const [, local = '', remote = '', , , timer = '', repeats = ''] = line.trim().split(/\s+/)
    if (!timer.startsWith(repeatTimer) || Number.parseInt(repeats, 16) < repeatsMin) continue
    const [address = '', port = ''] = remote.split(':')
    const localPort = Number.parseInt(local.split(':')[1] ?? '', 16)
    const text = addressText(address)
    if (text !== undefined)
      dead.add(peerKey({ localPort, address: text, port: Number.parseInt(port, 16) }))
  }
  return dead
}

export const peerKey = ({ localPort, address, port }: Peer): string =>
  `${localPort} ${plainAddress(address)} ${port}`

/** What the kernel knows of all connections; empty where it does not tell. */
export function readPeerTable(): string {
  return ['/proc/self/net/tcp', '/proc/self/net/tcp6']
    .map((file) => {
      try {
        return readFileSync(file, 'latin1')
      } catch {
        return ''
      }
    })
    .join('\n')
}

/** kind of timer, then its time: 01 is that for repeating */
const repeatTimer = '01:'

/** An address as 4 or 16 octets in hex, each four of them least significant first. */
function addressText(hex: string): string | undefined {
  const octets = Buffer.from(hex, 'hex')
  if (octets.length === 4) return octets.swap32().join('.')
  if (octets.length !== 16) return undefined
  const groups = octets.swap32().toString('hex').match(/..../g)!
  return new SocketAddress({ address: groups.join(':'), family: 'ipv6' }).address
}
