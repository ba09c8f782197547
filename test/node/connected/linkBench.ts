import { formatAddress } from '../../../src/ax25/address.js'
import { type Control, encodeControl } from '../../../src/ax25/control.js'
import { type Ax25Frame, decodeFrame, encodeFrame } from '../../../src/ax25/frame.js'
import { linkOptionsDefault } from '../../../src/ax25/session/linkState.js'
import { type ConnectionOptions, connections } from '../../../src/node/connected/connections.js'
import type { LinkMeter } from '../../../src/node/connected/linkCarrier.js'
import type { OpenSession, Peer } from '../../../src/node/connected/session.js'
import type { Outgoing } from '../../../src/node/transmitter.js'
import { virtualClock } from '../../../src/runtime/virtualClock.js'
import { address } from './linkSession.js'

export const u = (name: 'SABM' | 'SABME' | 'DISC' | 'UA' | 'DM' | 'XID' | 'TEST' | 'FRMR') =>
  ({ type: 'U', name, pollFinal: true }) as const
export const information = (sendSequence: number, receiveSequence: number, pollFinal = false) =>
  ({ type: 'I', sendSequence, receiveSequence, pollFinal }) as const
export const ready = (receiveSequence: number, pollFinal = false) =>
  ({ type: 'S', name: 'RR', receiveSequence, pollFinal }) as const

export const octetsOf = (text: string): Uint8Array => new TextEncoder().encode(text)
export const repeatedBy = (...calls: string[]) =>
  calls.map((call) => ({ address: address(call), repeated: true }))

/** Connections of N0DE-5 without a node: the test is every other station, and the radio. */
export function linkBench(change: Partial<ConnectionOptions> = {}) {
  const clock = virtualClock()
  const at = {
    ...{
      quietUntil: undefined as string | undefined,
      busy: false,
      keyed: false,
      modulo: 8 as 8 | 128,
    },
    /** frames wait for the radio until it is false again */
    held: false,
    meter: undefined as LinkMeter | undefined,
  }
  const events: string[] = []
  const given: { outgoing: Outgoing; open: boolean }[] = []
  const takenBack: string[] = []
  const sessions: { peer: Peer; log: string[] }[] = []
  const ignored: string[] = []
  let told = 0

  const session =
    (name: string): OpenSession =>
    (peer) => {
      const log: string[] = []
      sessions.push({ peer, log })
      return {
        begin: () => log.push(`begin ${name}`),
        receive: (octets, pid) => log.push(`${new TextDecoder().decode(octets)} ${pid}`),
        drained: () => log.push('drained'),
        reset: () => log.push('reset'),
        ended: () => log.push('ended'),
      }
    }
  const all = connections({
    clock,
    ports: [
      { radio: 0, state: () => ({ channelBusy: at.busy, keyed: at.keyed }) as never },
      { radio: 1, state: () => ({ channelBusy: false, keyed: false }) as never },
    ],
    transmitter: {
      send(outgoing) {
        const one = { outgoing, open: true }
        given.push(one)
        clock.at(clock.monotonicMs() + 100, () => {
          if (!at.held) end(one)
        })
        return (reason) => {
          one.open = false
          takenBack.push(reason)
        }
      },
    },
    note: (kind, text, { radio, station = '', reason = '' } = {}) =>
      events.push(`${kind} ${text} (${station} ${radio}: ${reason})`),
    options: {
      ...{ own: address('N0DE-5'), radios: [0, 1], stationsMax: 3, version22: true },
      ...{ link: linkOptionsDefault, frameOctets: 128, idleMs: 120_000, sessionMs: 3_600_000 },
      ...{ notAfterMs: 30_000, ...change },
    },
    nodeOptions: { ignored },
    quietUntil: () => at.quietUntil,
    openSession: (radio) => session(`${radio}`),
    meterFor: () => at.meter,
  })
  const end = (one: { outgoing: Outgoing; open: boolean }): void => {
    if (!one.open) return
    one.open = false
    one.outgoing.onEnd?.({ id: '1', kind: 'sent', atMs: clock.monotonicMs(), airtimeMs: 100 })
  }
  const frameOf = (octets: Uint8Array): Ax25Frame => {
    const read = decodeFrame(octets, { modulo: at.modulo })
    if (!read.ok) throw new Error(read.reason)
    return read.frame
  }

  return {
    ...{ clock, at, events, given, takenBack, sessions, ignored, all, session, frameOf },
    /** @returns whether it was taken as one of a connection with us */
    hear(
      from: string,
      control: Control,
      parts: Partial<Ax25Frame> = {},
      { radio = 0, repairedBits = 0 } = {},
    ): boolean {
      const octets = encodeFrame({
        ...{ destination: address('N0DE-5'), source: address(from), path: [], command: 'command' },
        ...{ control, controlOctets: encodeControl(control, at.modulo) },
        ...{ payload: new Uint8Array(), ...(control.type === 'I' && { pid: 0xf0 }), ...parts },
      })
      const heardAtMs = clock.monotonicMs()
      return all.take({
        ...{ octets, radio, repairedBits, heardAtMs, heardAtWallMs: 0, detector: 'test' },
        quality: undefined,
      })
    },
    run: (ms: number) => clock.advanceBy(ms),
    /** what was held goes out */
    release() {
      at.held = false
      for (const one of given) end(one)
    },
    /** frames since the last time: 'TO NAME 1 text', with what they count */
    sent(): string[] {
      const fresh = given.slice(told)
      told = given.length
      return fresh.map(({ outgoing }) => {
        const { destination, control, payload } = frameOf(outgoing.whole!)
        const name = 'name' in control ? control.name : control.type
        const counts =
          control.type === 'I'
            ? ` ${control.sendSequence}/${control.receiveSequence}`
            : control.type === 'S'
              ? ` ${control.receiveSequence}`
              : ''
        const text = control.type === 'I' ? ` ${new TextDecoder().decode(payload)}` : ''
        return `${formatAddress(destination)} ${name}${control.pollFinal ? '!' : ''}${counts}${text}`
      })
    },
  }
}
