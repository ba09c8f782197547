// The kernel's table of connections, and what is read out of it; once in earnest, on a line that is cut.
import { execFileSync, spawn } from 'node:child_process'
import { createServer, type Socket } from 'node:net'
import { afterEach, describe, expect, it } from 'vitest'
import { machineOf } from '../../src/kiss/allowList.js'
import { deadPeers, peerKey, readPeerTable } from '../../src/kiss/deadPeers.js'
import { waitFor } from '../ptt/helperProcess.js'

const table = `  sl  local_address rem_address   st tx_queue rx_queue tr tm->when retrnsmt   uid  timeout inode
   0: 0100007F:490D 00000000:0000 0A 00000000:00000000 00:00000000 00000000     0        0 144 1 0 100 0 0 10 0
   1: 0A00000A:490D 020200C0:C350 01 00000100:00000000 01:00000A5C 00000009     0        0 25976 2 0 100 0 0 10 0
   2: 0A00000A:490D 030200C0:C351 01 00000100:00000000 01:00000A5C 00000002     0        0 25976 2 0 100 0 0 10 0
   3: 0A00000A:490D 040200C0:C352 01 00000000:00000000 02:00000A5C 00000009     0        0 25976 2 0 100 0 0 10 0
   4: B80D01200000000000000000010000000:490D garbage
   5: B80D0120000000000000000001000000:490D B80D0120000000000000000002000000:C353 01 00000100:00000000 01:00000A5C 0000000F     0        0 25976 2 0 100 0 0 10 0
   6: 0000000000000000FFFF00000A00000A:490D 0000000000000000FFFF0000050200C0:C354 01 00000100:00000000 01:00000A5C 00000008     0        0 25976 2 0 100 0 0 10 0
`

describe('peers that are gone without a word', () => {
  it('are those whose octets are repeated, again and again', () => {
    expect([...deadPeers(table)]).toEqual(
      [
        { address: '192.0.2.2', port: 50_000 },
        { address: '2001:db8::2', port: 50_003 },
        { address: '::ffff:192.0.2.5', port: 50_004 },
      ].map((peer) => peerKey({ ...peer, localPort: 18_701 })),
    )
    expect(deadPeers('').size).toBe(0)
  })

  it('machines: loopback is one, an IPv6 network is one, link-local addresses are not', () => {
    const same = (one: string, other: string): boolean => machineOf(one) === machineOf(other)
    expect(same('127.0.0.1', '127.3.2.1')).toBe(true)
    expect(same('127.0.0.1', '::1')).toBe(true)
    expect(same('::ffff:192.0.2.1', '192.0.2.1')).toBe(true)
    expect(same('192.0.2.1', '192.0.2.2')).toBe(false)
    expect(same('2001:db8:1:2::1', '2001:db8:1:2:3:4:5:6')).toBe(true)
    expect(same('2001:db8:1::1', '2001:db8:1:2::1')).toBe(false)
    expect(same('fe80::1', 'fe80::2')).toBe(false)
  })
})

const space = `rptest${process.pid}`
const ip = (...words: string[]): void => void execFileSync('ip', words, { stdio: 'ignore' })
function mayCutLines(): boolean {
  try {
    ip('netns', 'add', space)
    return true
  } catch {
    return false
  }
}

describe.skipIf(!mayCutLines())('on a line that is cut (needs root and network namespaces)', () => {
  afterEach(() => ip('netns', 'del', space))

  it('the kernel counts its repeats, and the table names the peer', async () => {
    ip(
      'link',
      'add',
      `${space.slice(0, 12)}a`,
      'type',
      'veth',
      'peer',
      'name',
      'far',
      'netns',
      space,
    )
    ip('address', 'add', '198.51.100.1/30', 'dev', `${space.slice(0, 12)}a`)
    ip('link', 'set', `${space.slice(0, 12)}a`, 'up')
    ip('-n', space, 'address', 'add', '198.51.100.2/30', 'dev', 'far')
    ip('-n', space, 'link', 'set', 'far', 'up')
    let accepted: Socket | undefined
    const server = createServer((socket) => {
      accepted = socket.on('error', () => {})
    })
    await new Promise<void>((resolve) => server.listen(0, '198.51.100.1', resolve))
    const { port } = server.address() as { port: number }
    const script = `require('net').connect(${port}, '198.51.100.1').on('error', () => {})`
    const client = spawn('ip', ['netns', 'exec', space, process.execPath, '-e', script])
    const socket = await waitFor(() => accepted)
    ip('-n', space, 'link', 'set', 'far', 'down')
    socket.write('an invented frame')
    const peer = { localPort: port, address: '198.51.100.2', port: socket.remotePort! }
    await waitFor(() => deadPeers(readPeerTable(), 2).has(peerKey(peer)) || undefined)
    expect(deadPeers(readPeerTable()).size).toBe(0)
    client.kill()
    socket.destroy()
    await new Promise((resolve) => server.close(resolve))
  })
})
