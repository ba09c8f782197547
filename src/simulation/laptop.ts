import { type Address, formatAddress, parseAddress } from '../ax25/address.js'
import { decodeFrame } from '../ax25/frame.js'
import { linkOptionsDefault } from '../ax25/session/linkState.js'
import { type PeerLink, peerLink } from '../node/connected/peerLink.js'
import type { Peer } from '../node/connected/session.js'
import type { Port } from '../radio/port.js'
import type { Clock } from '../runtime/clock.js'

/** A laptop with a packet modem: connects when its owner first types, and shows what it reads. */
export interface Laptop {
  readonly call: string
  /** what is on its screen, lines ended by CR */
  readonly screen: string
  /** what was typed, in order */
  readonly typed: readonly string[]
  /** not connected, and about nothing else */
  readonly idle: boolean
  type(line: string): void
}

const sendWithinMs = 60_000
const frameOctets = 128

/** Modulo 8, as an ordinary terminal program has it. */
export function laptop(options: {
  readonly port: Port
  readonly clock: Clock
  readonly call: string
  readonly nodeCall: string
}): Laptop {
  const { port, clock, call, nodeCall } = options
  const typed: string[] = []
  const waiting: string[] = []
  const screen: number[] = []
  const ends = new Map<string, () => void>()
  let peer: Peer | undefined
  let requestCount = 0

  const flush = (): void => {
    for (const line of waiting.splice(0)) peer?.write(new TextEncoder().encode(`${line}\r`))
  }
  const link: PeerLink = peerLink({
    ...{ clock, own: addressOf(call), peer: addressOf(nodeCall), path: [], frameOctets },
    ...{ link: linkOptionsDefault, backlogOctetsMax: 65_536 },
    carrier: {
      channelBusy: () => port.state().channelBusy,
      send(octets, urgent, onEnd) {
        const id = `${call}/${++requestCount}`
        ends.set(id, onEnd)
        const priority = urgent ? 'acknowledgement' : 'answer'
        const notAfterMs = clock.monotonicMs() + sendWithinMs
        port.send({ id, octets, priority, notAfterMs, origin: 'node' })
        return () => port.withdraw(id)
      },
    },
    onConnected: () => {},
    onReset: () => {},
    onEnded: () => {
      peer = undefined
    },
    openSession(to) {
      peer = to
      return {
        begin: flush,
        receive: (octets) => void screen.push(...octets),
        drained: () => {},
        reset: () => {},
        ended: () => {},
      }
    },
  })
  port.onOutcome((outcome) => {
    if (outcome.kind === 'held') return
    ends.get(outcome.id)?.()
    ends.delete(outcome.id)
  })
  port.onFrame(({ octets }) => {
    const read = decodeFrame(octets, { strict: true })
    if (!read.ok || read.frame.control.type === 'UI') return
    const { destination, source } = read.frame
    if (formatAddress(destination) === call && formatAddress(source) === nodeCall)
      link.take(read.frame)
  })

  return {
    call,
    typed,
    get screen() {
      return new TextDecoder().decode(Uint8Array.from(screen))
    },
    get idle() {
      return link.isIdle
    },
    type(line) {
      typed.push(line)
      waiting.push(line)
      if (link.isIdle) link.connect('2.0')
      else if (link.isOpen) flush()
    },
  }
}

function addressOf(text: string): Address {
  const address = parseAddress(text)
  if (!address.ok) throw new RangeError(address.reason)
  return address.value
}
