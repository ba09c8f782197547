import { formatAddress } from '../../../src/ax25/address.js'
import { type Control, encodeControl } from '../../../src/ax25/control.js'
import type { Ax25Frame } from '../../../src/ax25/frame.js'
import { decodeFrame, encodeFrame } from '../../../src/ax25/frame.js'
import { parseConfig } from '../../../src/config/load.js'
import { type ConnectedNeeds, connectedMode } from '../../../src/node/connected/connectedMode.js'
import { connectedOptions } from '../../../src/setup/connectedOptions.js'
import { echoService, type TestNode, type TestNodeOptions, testNode } from '../testNode.js'
import { address } from './linkSession.js'
import { PlainPeer } from './plainPeer.js'

export const node = 'Q2VAN-5'

/** A node with connected mode, and stations that were written apart from it. */
export class ConnectedBench {
  readonly test: TestNode
  readonly peers: PlainPeer[] = []
  private heardCount = 0

  constructor(toml = '', given: TestNodeOptions = {}, sessionFor?: ConnectedNeeds['sessionFor']) {
    const parsed = parseConfig(
      `[station]\ncall = "Q2VAN"\n[transmit]\nenabled = true\n[connected]\nenabled = true\nssid = 5\n${toml}`,
      'node.toml',
    )
    const options = connectedOptions(parsed)
    this.test = testNode({
      services: [echoService],
      ...given,
      options: { call: 'Q2VAN', ...given.options },
      connected: (parts) => connectedMode({ ...parts, ...(sessionFor && { sessionFor }), options }),
    })
  }

  peer(call: string): PlainPeer {
    const peer = new PlainPeer(this.test.clock, call, node)
    this.peers.push(
      peer.use({
        channelBusy: () => false,
        send: (octets, _urgent, onEnd) => {
          this.test.clock.at(this.test.clock.monotonicMs() + 200, () => {
            this.test.port.hear(octets)
            onEnd()
          })
          return () => {}
        },
      }),
    )
    return peer
  }

  async run(seconds: number): Promise<void> {
    for (let at = 0; at < seconds; at++) {
      await this.test.wait(1)
      const sent = this.test.port.sent.slice(this.heardCount)
      this.heardCount += sent.length
      for (const { request } of sent) {
        const read = decodeFrame(request.octets)
        if (!read.ok) throw new Error(read.reason)
        const to = formatAddress(read.frame.destination)
        for (const peer of this.peers) if (peer.own === to) peer.hear(request.octets)
      }
    }
  }

  /** Connects, and waits for the prompt. */
  async connect(call: string): Promise<PlainPeer> {
    const peer = this.peer(call)
    peer.call()
    await this.run(12)
    return peer
  }

  /** @returns what the node said to it */
  async say(peer: PlainPeer, text: string, seconds = 15): Promise<string> {
    const before = peer.text.length
    peer.say(text)
    await this.run(seconds)
    return peer.text.slice(before)
  }

  /** A single frame of a station that has no machine of its own. */
  hear(from: string, control: Control, parts: Partial<Ax25Frame> = {}): void {
    this.test.port.hear(
      encodeFrame({
        ...{ destination: address(node), source: address(from), path: [], command: 'command' },
        ...{ control, controlOctets: encodeControl(control, 8), payload: new Uint8Array() },
        ...(control.type === 'I' && { pid: 0xf0 }),
        ...parts,
      }),
    )
  }

  /** Frames that the node sent to a station, as name and P/F. */
  sentTo(call: string): string[] {
    return this.test.port.sent.flatMap(({ request }) => {
      const read = decodeFrame(request.octets)
      if (!read.ok || formatAddress(read.frame.destination) !== call) return []
      const { control } = read.frame
      return [`${'name' in control ? control.name : control.type}${control.pollFinal ? ' 1' : ''}`]
    })
  }

  events(kind: string): string[] {
    return this.test.events
      .filter((event) => event.kind === kind)
      .map(({ station, text, reason }) => [station, text, reason].filter(Boolean).join(': '))
  }
}
