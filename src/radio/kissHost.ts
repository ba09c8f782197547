import type { Ax25Frame } from '../ax25/frame.js'
import type { ClientFrame, KissClient, KissHost, KissHub } from '../kiss/hub.js'
import type { ChannelParameters } from '../kiss/parameters.js'
import { type Allowance, createAllowance } from '../runtime/allowance.js'
import type { Clock } from '../runtime/clock.js'
import { type ClientPermission, checkClientFrame, refusalOf } from './clientFrame.js'
import {
  type ClientSettings,
  clientSettings,
  formatAccess,
  type SettingBounds,
} from './clientSettings.js'
import type { FinalOutcome, Port, TransmitOutcome } from './port.js'
import type { RadioPort } from './radioPort.js'

export interface KissHostOptions {
  readonly ports: readonly Port[]
  readonly clock: Clock
  readonly nextId: () => string
  /** the licensee's call sign, with or without SSID */
  readonly ownCall: string
  /** what clients of this machine may send, and those of others */
  readonly localMaySend: ClientPermission
  readonly remoteMaySend: ClientPermission
  /** how long a client's frame may wait for the channel */
  readonly frameLifeMs: number
  /** clients may switch a radio to full duplex; without it none may stop a radio from listening before it sends */
  readonly fullDuplexAllowed: boolean
  readonly bounds: SettingBounds
  readonly record: ClientRecord
}

/** Where it is kept what clients did. */
export interface ClientRecord {
  /**
   * A frame of a client's is about to be given to its radio.
   * @returns called once, with what became of it
   */
  taken(frame: ClientFrame, read: Ax25Frame): (outcome: FinalOutcome) => void
  /** @param read as far as the frame could be read */
  refused(frame: ClientFrame, reason: string, read?: Ax25Frame): void
  /** settings, and what else a client did, in words; `radio` where it is about one */
  note(client: KissClient, text: string, radio?: number): void
}

/** The radios as the KISS ends see them. */
export interface PortsKissHost extends KissHost {
  readonly counters: Readonly<KissHostCounters>
  /** Gives what the ports hear to the hub. */
  connect(hub: KissHub): void
}

interface KissHostCounters {
  sent: number
  refused: number
  expired: number
  /** frames that could not be read, or must not be sent as they are */
  notAx25: number
  /** frames that this client may not send */
  notPermitted: number
  /** wishes for full duplex, where fullDuplexAllowed is false */
  fullDuplexRefused: number
}

/**
 * The shortest frame takes some 150 ms at 1200 baud: what comes faster than this for long can never be sent. Taking it
 * would only fill memory, log and the radio's thread.
 */
const burstMax = 100
const framesPerSecond = 10
/** Frames of clients that may wait for one radio: more would only expire. */
const waitingMax = 100

/** A KISS link has no room for 'repaired': clients get what the node itself would act on. */
const repairedBitsMax = 1

/** What the host knows of one radio. */
interface HostedRadio {
  readonly port: Port
  readonly frames: Allowance
  readonly changes: Allowance
  /** absent where the radio has no settings */
  readonly settings: ClientSettings | undefined
  waitingCount: number
}

/**
 * Puts clients' frames into the ports' transmit requests, where they pass the same controller and limits as all others.
 * What a client wants sent is on record before it can be keyed, and so is what became of it.
 */
export const createKissHost = (options: KissHostOptions): PortsKissHost => new Host(options)

class Host implements PortsKissHost {
  readonly counters: KissHostCounters = {
    sent: 0,
    refused: 0,
    expired: 0,
    notAx25: 0,
    notPermitted: 0,
    fullDuplexRefused: 0,
  }
  private readonly hosted: ReadonlyMap<number, HostedRadio>
  private readonly waiting = new Map<string, (outcome: FinalOutcome) => void>()
  /** Programs ask for full duplex each time that they connect: once is enough to know. */
  private toldOfFullDuplex = false

  constructor(private readonly options: KissHostOptions) {
    const { ports, clock, bounds } = options
    const allowance = (): Allowance => createAllowance(clock, burstMax, framesPerSecond)
    this.hosted = new Map(
      ports.map((port) => {
        const settings = hasAccess(port) ? clientSettings(port, bounds) : undefined
        return [
          port.radio,
          { port, frames: allowance(), changes: allowance(), settings, waitingCount: 0 },
        ]
      }),
    )
    for (const port of ports) port.onOutcome((outcome) => this.settle(outcome))
  }

  get radios(): readonly number[] {
    return [...this.hosted.keys()]
  }

  send(frame: ClientFrame): void {
    const checked = checkClientFrame(frame.octets)
    if (!checked.ok) {
      this.counters.notAx25++
      this.options.record.refused(frame, checked.reason, checked.frame)
      return
    }
    const radio = this.hosted.get(frame.radio)!
    const { localMaySend, remoteMaySend, ownCall } = this.options
    const permission = frame.client.isLocal ? localMaySend : remoteMaySend
    const notPermitted = refusalOf(checked.frame, permission, ownCall)
    if (notPermitted !== undefined) this.counters.notPermitted++
    const refusal = notPermitted ?? this.tooMuch(radio)
    if (refusal === undefined) this.submit(frame, checked.frame, radio)
    else {
      this.counters.refused++
      this.options.record.refused(frame, refusal, checked.frame)
    }
  }

  refuse(frame: ClientFrame, reason: string): void {
    const checked = checkClientFrame(frame.octets)
    this.options.record.refused(frame, reason, checked.frame)
  }

  malformed(client: KissClient, count: number): void {
    const times = count === 1 ? '' : `, ${count} times`
    this.options.record.note(client, `sent octets that are not a KISS frame${times}`)
  }

  setParameters(radio: number, change: ChannelParameters, client: KissClient): boolean {
    const { port, changes, settings } = this.hosted.get(radio)!
    if (!changes.take(1) || settings === undefined || !hasAccess(port)) return false
    const { fullDuplexAllowed, record } = this.options
    if (change.fullDuplex === true && !fullDuplexAllowed && !port.access().fullDuplex) {
      this.refuseFullDuplex(port, client)
      return false
    }
    const { holds, bounded } = settings.set(client, change)
    const limits = bounded ? `; within the limits that is ${formatAccess(holds)}` : ''
    record.note(client, `set ${port.name} to ${formatAccess(change)}${limits}`, radio)
    return true
  }

  gone(client: KissClient): void {
    for (const [radio, { port, settings }] of this.hosted) {
      const now = settings?.leave(client)
      if (now === undefined) continue
      const text = `is gone, and with it what it had set: ${port.name} has ${formatAccess(now)}`
      this.options.record.note(client, text, radio)
    }
  }

  connect(hub: KissHub): void {
    for (const { port } of this.hosted.values())
      port.onFrame((frame) => {
        if (frame.repairedBits <= repairedBitsMax) hub.heard(frame.radio, frame.octets)
      })
  }

  private tooMuch({ frames, waitingCount }: HostedRadio): string | undefined {
    if (waitingCount >= waitingMax) return `${waitingMax} frames of clients wait for the radio`
    return frames.take(1)
      ? undefined
      : `more than ${framesPerSecond} frames a second, faster than any channel`
  }

  private submit(frame: ClientFrame, read: Ax25Frame, radio: HostedRadio): void {
    const { nextId, clock, frameLifeMs, record } = this.options
    const id = nextId()
    const onEnd = record.taken(frame, read)
    radio.waitingCount++
    this.waiting.set(id, (outcome) => {
      radio.waitingCount--
      onEnd(outcome)
      if (outcome.kind === 'sent') frame.onSent?.()
    })
    radio.port.send({
      id,
      octets: frame.octets,
      priority: 'client',
      notAfterMs: clock.monotonicMs() + frameLifeMs,
      origin: 'kiss',
    })
  }

  private settle(outcome: TransmitOutcome): void {
    if (outcome.kind === 'held') return
    const onEnd = this.waiting.get(outcome.id)
    if (onEnd === undefined) return
    this.waiting.delete(outcome.id)
    this.counters[outcome.kind]++
    onEnd(outcome)
  }

  private refuseFullDuplex({ name, radio }: Port, client: KissClient): void {
    this.counters.fullDuplexRefused++
    if (this.toldOfFullDuplex) return
    this.toldOfFullDuplex = true
    const text = `asked for full duplex: refused, ${name} goes on listening before it sends; kiss.fullDuplexAllowed = true allows it (told once)`
    this.options.record.note(client, text, radio)
  }
}

const hasAccess = (port: Port): port is RadioPort => 'setAccess' in port
