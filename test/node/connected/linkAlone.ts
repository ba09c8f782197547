import type { Control } from '../../../src/ax25/control.js'
import { type Ax25Frame, decodeFrame } from '../../../src/ax25/frame.js'
import { linkOptionsDefault } from '../../../src/ax25/session/linkState.js'
import { type PeerLinkParts, peerLink } from '../../../src/node/connected/peerLink.js'
import type { Peer } from '../../../src/node/connected/session.js'
import { virtualClock } from '../../../src/runtime/virtualClock.js'
import { octetsOf, u } from './linkBench.js'
import { address } from './linkSession.js'

export const text = (count: number): Uint8Array => octetsOf('x'.repeat(count))

/** One link: what it hands to the radio waits there until the test sends it. */
export function linkAlone(change: Partial<PeerLinkParts> = {}) {
  const clock = virtualClock()
  const at = { busy: false }
  const log: string[] = []
  const given: { octets: Uint8Array; urgent: boolean; onEnd: () => void; gone: boolean }[] = []
  const peers: Peer[] = []
  let told = 0
  let onReceive = (): void => {}
  const link = peerLink({
    ...{ clock, link: linkOptionsDefault, own: address('N0DE-5'), peer: address('Q7LAP') },
    ...{ path: [address('Q1DIG')], frameOctets: 100, backlogOctetsMax: 5_000 },
    carrier: {
      channelBusy: () => at.busy,
      send(octets, urgent, onEnd) {
        const one = { octets, urgent, onEnd, gone: false }
        given.push(one)
        return () => {
          one.gone = true
        }
      },
    },
    openSession(peer) {
      peers.push(peer)
      return {
        begin: () => log.push('begin'),
        receive(octets, pid) {
          log.push(`${octets.length} octets of ${pid}`)
          onReceive()
        },
        drained: () => log.push('drained'),
        reset: () => log.push('reset'),
        ended: () => log.push('ended'),
      }
    },
    onConnected: (by) => log.push(`connected by ${by}`),
    onEnded: (end) => log.push(`over ${end}`),
    onReset: () => log.push('begun anew'),
    onRejected: (reasons) => log.push(`rejected: ${reasons}`),
    ...change,
  })
  link.mayConnect = true
  const frames = () =>
    given.map(({ octets, urgent, gone }) => {
      const read = decodeFrame(octets, { modulo: link.modulo })
      if (!read.ok) throw new Error(read.reason)
      return { frame: read.frame, urgent, gone }
    })
  return {
    ...{ clock, at, log, given, link, frames },
    peer: () => peers.at(-1)!,
    whenReceived(run: () => void) {
      onReceive = run
    },
    hear: (control: Control, parts: Partial<Ax25Frame> = {}) =>
      link.take({
        ...{ destination: address('N0DE-5'), source: address('Q7LAP'), path: [] },
        ...{ command: 'command', control, controlOctets: Uint8Array.of(0) },
        ...{ payload: new Uint8Array(), ...(control.type === 'I' && { pid: 0xf0 }), ...parts },
      }),
    /** the radio sends all that waits */
    send() {
      for (const one of given.splice(0)) if (!one.gone) one.onEnd()
      told = 0
    },
    /** names of what was handed over since the last time */
    fresh() {
      const all = frames().slice(told)
      told += all.length
      return all.map(({ frame: { control } }) =>
        control.type === 'I'
          ? `I ${control.sendSequence}/${control.receiveSequence}`
          : `${'name' in control ? control.name : control.type}${control.pollFinal ? '!' : ''}`,
      )
    },
  }
}

/** Connected by the other station, with everything sent. */
export function connected(change: Partial<PeerLinkParts> = {}) {
  const one = linkAlone(change)
  one.hear(u('SABM'))
  one.send()
  one.log.length = 0
  return one
}
