import { decodeFrame } from '../ax25/frame.js'
import type { KissHost, KissHub } from '../kiss/hub.js'
import { type Allowance, createAllowance } from '../runtime/allowance.js'
import type { Clock } from '../runtime/clock.js'
import { quietEvents } from '../runtime/quietEvents.js'
import type { Port, TransmitOutcome } from './port.js'
import type { RadioPort } from './radioPort.js'

export interface KissHostOptions {
  readonly ports: readonly Port[]
  readonly clock: Clock
  readonly nextId: () => string
  /** how long a client's frame may wait for the channel */
  readonly frameLifeMs: number
  /** clients may switch a radio to full duplex; without it none may stop a radio from listening before it sends */
  readonly fullDuplexAllowed?: boolean
  /** told in words what was not sent, and why */
  readonly onEvent: (text: string) => void
}

/** The radios as the KISS ends see them. */
export interface PortsKissHost extends KissHost {
  readonly counters: Readonly<{
    sent: number
    refused: number
    expired: number
    notAx25: number
    /** wishes for full duplex, where fullDuplexAllowed is false */
    fullDuplexRefused: number
  }>
  /** Gives what the ports hear to the hub. */
  connect(hub: KissHub): void
}

/**
 * The shortest frame takes some 150 ms at 1200 baud: what comes faster than this for long can never be sent. Taking it
 * would only fill memory, log and the radio's thread.
 */
const burstMax = 100
const framesPerSecond = 10

/** A KISS link has no room for 'repaired': clients get what the node itself would act on. */
const repairedBitsMax = 1

/**
 * Puts clients' frames into the ports' transmit requests, where they pass the same controller and limits as all others.
 * A frame whose addresses cannot be read is refused here: it would go out without a call sign.
 */
export function createKissHost(options: KissHostOptions): PortsKissHost {
  const { clock, fullDuplexAllowed = false } = options
  const tellQuietly = quietEvents(clock, options.onEvent)
  const ports = new Map(options.ports.map((port) => [port.radio, port]))
  const counters = { sent: 0, refused: 0, expired: 0, notAx25: 0, fullDuplexRefused: 0 }
  const allowed = new Map<number, Allowance>()
  const allowedSettings = new Map<number, Allowance>()
  for (const { radio } of options.ports) {
    allowed.set(radio, createAllowance(clock, burstMax, framesPerSecond))
    allowedSettings.set(radio, createAllowance(clock, burstMax, framesPerSecond))
  }
  const waiting = new Map<string, { readonly from: string; readonly onSent?: () => void }>()

  const settle = (outcome: TransmitOutcome): void => {
    const frame = waiting.get(outcome.id)
    if (frame === undefined || outcome.kind === 'held') return
    waiting.delete(outcome.id)
    counters[outcome.kind]++
    if (outcome.kind === 'sent') frame.onSent?.()
    else
      tellQuietly(
        outcome.kind,
        `frame of KISS client ${frame.from} ${outcome.kind}: ${outcome.reason}`,
      )
  }
  for (const port of options.ports) port.onOutcome(settle)

  // Programs ask for it each time that they connect: once is enough to know.
  let toldOfFullDuplex = false
  const refuseFullDuplex = ({ name }: Port, from: string): void => {
    counters.fullDuplexRefused++
    if (toldOfFullDuplex) return
    toldOfFullDuplex = true
    options.onEvent(
      `full duplex refused to KISS client ${from}: ${name} goes on listening before it sends; kiss.fullDuplexAllowed = true allows it (told once)`,
    )
  }

  return {
    radios: [...ports.keys()],
    counters,
    send({ radio, octets, from, onSent }) {
      const decoded = decodeFrame(octets)
      if (!decoded.ok) {
        counters.notAx25++
        const why = `no AX.25 frame: ${decoded.reason}`
        tellQuietly('notAx25', `frame of KISS client ${from} refused: ${why}`)
        return
      }
      if (!allowed.get(radio)!.take(1)) {
        counters.refused++
        const why = `more than ${framesPerSecond} frames a second, faster than any channel`
        tellQuietly('tooFast', `frame of KISS client ${from} refused: ${why}`)
        return
      }
      const id = options.nextId()
      waiting.set(id, { from, ...(onSent && { onSent }) })
      ports.get(radio)!.send({
        id,
        octets,
        priority: 'client',
        notAfterMs: clock.monotonicMs() + options.frameLifeMs,
        origin: 'kiss',
      })
    },
    setParameters(radio, change, from) {
      if (!allowedSettings.get(radio)!.take(1)) {
        tellQuietly('settings', `settings of KISS client ${from} dropped: too many a second`)
        return false
      }
      const port = ports.get(radio)!
      if (!hasAccess(port)) return false
      if (change.fullDuplex === true && !fullDuplexAllowed && !port.access().fullDuplex) {
        refuseFullDuplex(port, from)
        return false
      }
      port.setAccess(change)
      return true
    },
    connect(hub) {
      for (const port of options.ports)
        port.onFrame((frame) => {
          if (frame.repairedBits <= repairedBitsMax) hub.heard(frame.radio, frame.octets)
        })
    },
  }
}

const hasAccess = (port: Port): port is RadioPort => 'setAccess' in port
