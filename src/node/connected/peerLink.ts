import { type Address, formatAddress, type PathEntry } from '../../ax25/address.js'
import { type Control, encodeControl, type Modulo } from '../../ax25/control.js'
import { type Ax25Frame, encodeFrame } from '../../ax25/frame.js'
import { pidNoLayer3 } from '../../ax25/protocol.js'
import { advanceLink } from '../../ax25/session/dataLink.js'
import { decodeFrmr } from '../../ax25/session/frmr.js'
import type {
  LinkAction,
  LinkData,
  LinkEvent,
  SessionFrame,
} from '../../ax25/session/linkEvents.js'
import {
  createLink,
  type LinkOptions,
  type LinkState,
  linkWakesAtMs,
} from '../../ax25/session/linkState.js'
import { reassembler, segment } from '../../ax25/session/segments.js'
import { decodeXid, negotiated } from '../../ax25/session/xid.js'
import type { Cancel, Clock } from '../../runtime/clock.js'
import { faultOf, isCommandFrame, xidOf } from './linkFrames.js'
import type { OpenSession, Session } from './session.js'

/** The radio under a link. */
export interface LinkCarrier {
  /**
   * Hands a frame over. @param urgent an answer that the other waits for
   * @param onEnd once it was sent, or never will be
   */
  send(octets: Uint8Array, urgent: boolean, onEnd: () => void): Cancel
  /** somebody sends, so that nobody can answer */
  channelBusy(): boolean
}

export type LinkEnd = 'by the other station' | 'by us' | 'no answer'

export interface PeerLinkParts {
  readonly clock: Clock
  readonly link: LinkOptions
  readonly own: Address
  readonly peer: Address
  /** in the order in which they repeat what we send */
  readonly path: readonly Address[]
  /** octets of text in an I frame that we send: shorter ones get through where long ones do not */
  readonly frameOctets: number
  /** octets that may wait here */
  readonly backlogOctetsMax: number
  readonly carrier: LinkCarrier
  readonly openSession: OpenSession
  /** told when the connection stands, and when it ended */
  readonly onConnected: (by: 'peer' | 'us') => void
  readonly onEnded: (end: LinkEnd) => void
  /** told each time that the link began anew */
  readonly onReset: () => void
  /** told what a station before version 2.2 says of a frame of ours that it does not know, in words */
  readonly onRejected?: (reasons: string) => void
}

/** The link to one peer: the machine of the standard on a clock, over a radio, under a session. */
export interface PeerLink {
  readonly modulo: Modulo
  readonly isOpen: boolean
  /** nothing is going on */
  readonly isIdle: boolean
  mayConnect: boolean
  take(frame: Ax25Frame): void
  connect(version: '2.0' | '2.2'): void
  close(): void
  /** Lets go at once; the peer is told. */
  drop(): void
  /** No more is sent, and nobody is told. */
  stop(): void
  /** information octets handed to the session, and acknowledged by the peer */
  readonly receivedOctets: number
  readonly sentOctets: number
}

/** An acknowledgement waits so long for more frames of the same transmission: T2. */
const acknowledgeAfterMs = 300
const lookAgainMs = 100
/** Somebody else's long transmission does not keep it for ever. */
const acknowledgeAfterMsMax = 15_000
/** I frames that the machine is given ahead of the window. */
const aheadFrames = 8

export function peerLink(parts: PeerLinkParts): PeerLink {
  return new Link(parts)
}

class Link implements PeerLink {
  private readonly link: LinkState
  private session: Session | undefined
  private backlog: LinkData[] = []
  private backlogOctets = 0
  private readonly unsent = new Set<{ cancel: Cancel; readonly urgent: boolean }>()
  private readonly events: LinkEvent[] = []
  private advancing = false
  private peerOctetsMax = Infinity
  private cancelWake: Cancel = () => {}
  private cancelAcknowledge: Cancel = () => {}
  private closing = false
  private stopped = false
  private waited = false
  private joiner = reassembler()
  receivedOctets = 0

  constructor(private readonly parts: PeerLinkParts) {
    this.link = createLink(parts.link)
  }

  get modulo(): Modulo {
    return this.link.name === 'disconnected' ? 8 : this.link.parameters.modulo
  }
  get sentOctets(): number {
    return this.link.acknowledgedOctets
  }
  get isOpen(): boolean {
    return this.link.name === 'connected' || this.link.name === 'timerRecovery'
  }
  get isIdle(): boolean {
    return this.link.name === 'disconnected' && this.unsent.size === 0
  }
  set mayConnect(may: boolean) {
    this.link.mayConnect = may
  }
  get mayConnect(): boolean {
    return this.link.mayConnect
  }

  take(frame: Ax25Frame): void {
    const { control, payload, pid } = frame
    const isCommand = isCommandFrame(frame)
    if (control.type === 'U' && control.name === 'TEST') {
      if (isCommand) this.respond('TEST', control.pollFinal, payload)
      return
    }
    if (control.type === 'U' && control.name === 'XID') {
      this.takeXid(payload, isCommand, control.pollFinal)
      return
    }
    if (control.type === 'U' && control.name === 'FRMR') this.tellRejected(payload)
    const fault = faultOf(frame)
    if (fault !== undefined) this.advance({ type: 'badFrame', fault })
    else this.advance({ type: 'frame', frame: { control, isCommand, payload, pid: pid ?? 0 } })
  }

  connect(version: '2.0' | '2.2'): void {
    this.advance({ type: 'connect', version })
  }

  close(): void {
    this.closing = true
    if (this.waitingOctets === 0 || !this.isOpen) this.advance({ type: 'disconnect' })
  }

  drop(): void {
    this.backlog = []
    this.backlogOctets = 0
    this.withdraw()
    this.advance({ type: 'disconnect' })
  }

  stop(): void {
    this.stopped = true
    this.cancelWake()
    this.cancelAcknowledge()
    this.withdraw()
    this.endSession()
  }

  private get waitingOctets(): number {
    let sum = this.backlogOctets
    for (const { payload } of this.link.queue) sum += payload.length
    for (const { payload } of this.link.sent.values()) sum += payload.length
    return sum
  }

  private write(octets: Uint8Array, pid: number): boolean {
    if (!this.isOpen || this.closing || octets.length === 0) return false
    if (this.waitingOctets + octets.length > this.parts.backlogOctetsMax) return false
    const units = this.unitsOf({ pid, payload: octets })
    if (units === undefined) return false
    this.backlog.push(...units)
    this.backlogOctets += units.reduce((sum, { payload }) => sum + payload.length, 0)
    this.waited = true
    this.advance({ type: 'time', channelBusy: this.parts.carrier.channelBusy() })
    return true
  }

  /** What I frames carry of it; undefined where the other end cannot put it together again. */
  private unitsOf(data: LinkData): LinkData[] | undefined {
    const { pid, payload } = data
    const octetsMax = Math.min(this.parts.frameOctets, this.peerOctetsMax)
    if (pid === pidNoLayer3) {
      const count = Math.ceil(payload.length / octetsMax)
      return Array.from({ length: count }, (_, index) => ({
        ...{ pid, payload: payload.slice(index * octetsMax, (index + 1) * octetsMax) },
      }))
    }
    if (payload.length <= octetsMax) return [data]
    const canSegment = this.modulo === 128 && payload.length < segmentsMax * (octetsMax - 1)
    return canSegment ? segment(data, octetsMax) : undefined
  }

  /** An event that comes while another is dealt with, by way of the session or the radio, waits for its end. */
  private advance(event: LinkEvent): void {
    this.events.push(event)
    if (this.advancing) return
    this.advancing = true
    try {
      for (let next = this.events.shift(); next && !this.stopped; next = this.events.shift())
        this.advanceOnce(next)
    } catch (error) {
      // A mistake of the session's must not stop the link for ever: its times go on.
      this.wake()
      throw error
    } finally {
      this.advancing = false
    }
  }

  private advanceOnce(event: LinkEvent): void {
    const wasOpen = this.isOpen
    const actions = advanceLink(this.link, event, this.parts.clock.monotonicMs())
    const begunAnew = actions.some(isResetByPeer) || this.link.name.startsWith('awaitingConnection')
    if (wasOpen && begunAnew) this.reset()
    for (const action of actions) this.perform(action, wasOpen)
    this.refill()
    this.tellDrained()
    this.wake()
  }

  private perform(action: LinkAction, wasOpen: boolean): void {
    switch (action.type) {
      case 'send':
        this.send(action.frame)
        break
      case 'seize':
        this.acknowledgeSoon()
        break
      case 'connected':
        if (!wasOpen) this.begin(action.by)
        break
      case 'disconnected':
        this.finish(action.by)
        break
      case 'received':
        this.receive(action.data)
        break
      case 'negotiate':
        this.sendU('XID', true, true, this.ownXid())
        break
      case 'unitReceived':
      case 'error':
        break
    }
  }

  private begin(by: 'peer' | 'us'): void {
    const { parts } = this
    this.closing = false
    this.endSession()
    this.receivedOctets = 0
    this.link.acknowledgedOctets = 0
    parts.onConnected(by)
    const waiting = (): number => this.waitingOctets
    // A session that is over says nothing to the next one's peer.
    const whileOpen = (run: () => void): void => {
      if (this.session === session) run()
    }
    const session = parts.openSession({
      call: formatAddress(parts.peer),
      write: (octets, pid = pidNoLayer3) => this.session === session && this.write(octets, pid),
      setReady: (on) => whileOpen(() => this.advance({ type: 'flow', on })),
      close: () => whileOpen(() => this.close()),
      get waitingOctets() {
        return waiting()
      },
    })
    this.session = session
    session.begin()
  }

  private reset(): void {
    // Its numbers are of the life before, and one agreement is enough, however often it was asked for while nothing could be sent.
    this.takeBackUnsent()
    this.backlog = []
    this.backlogOctets = 0
    this.waited = false
    this.joiner = reassembler()
    this.cancelAcknowledge()
    this.parts.onReset()
    this.session?.reset()
    // What it was to be told before the end is gone.
    if (this.closing) this.advance({ type: 'disconnect' })
  }

  private finish(by: 'peer' | 'us' | 'silence'): void {
    this.backlog = []
    this.backlogOctets = 0
    this.cancelAcknowledge()
    this.endSession()
    this.parts.onEnded(by === 'peer' ? 'by the other station' : by === 'us' ? 'by us' : 'no answer')
  }

  private endSession(): void {
    const { session } = this
    this.session = undefined
    session?.ended()
  }

  private receive(data: LinkData): void {
    const whole = this.joiner.take(data)
    if (whole === undefined) return
    this.receivedOctets += whole.payload.length
    this.session?.receive(whole.payload, whole.pid)
  }

  /** Keeps the machine's queue filled, and no fuller than it must be: a reset loses what is in it. */
  private refill(): void {
    while (this.isOpen && this.backlog.length > 0 && this.link.queue.length < aheadFrames) {
      const data = this.backlog.shift()!
      this.backlogOctets -= data.payload.length
      for (const action of advanceLink(
        this.link,
        { type: 'data', data },
        this.parts.clock.monotonicMs(),
      ))
        this.perform(action, true)
    }
  }

  private tellDrained(): void {
    if (!this.isOpen || this.waitingOctets > 0 || !this.waited) return
    this.waited = false
    if (this.closing) this.advance({ type: 'disconnect' })
    else this.session?.drained()
  }

  private wake(): void {
    this.cancelWake()
    const atMs = linkWakesAtMs(this.link)
    if (atMs === undefined || this.stopped) return
    const { clock, carrier } = this.parts
    this.cancelWake = clock.at(atMs, () =>
      this.advance({ type: 'time', channelBusy: carrier.channelBusy() }),
    )
  }

  /** When the other has ended: several frames are acknowledged at once. */
  private acknowledgeSoon(): void {
    const { clock, carrier } = this.parts
    const latestMs = clock.monotonicMs() + acknowledgeAfterMsMax
    const look = (): void => {
      if (carrier.channelBusy() && clock.monotonicMs() < latestMs) again(lookAgainMs)
      else this.advance({ type: 'seized' })
    }
    const again = (ms: number): void => {
      this.cancelAcknowledge = clock.at(clock.monotonicMs() + ms, look)
    }
    this.cancelAcknowledge()
    again(acknowledgeAfterMs)
  }

  private send({ control, isCommand, payload, pid }: SessionFrame): void {
    const { own, peer, path, carrier } = this.parts
    const hasPid = control.type === 'I' || control.type === 'UI'
    const octets = encodeFrame({
      ...{ destination: peer, source: own, path: path.map(unrepeated), payload, control },
      command: isCommand ? 'command' : 'response',
      controlOctets: encodeControl(control, this.link.parameters.modulo),
      ...(hasPid && { pid: pid ?? pidNoLayer3 }),
    })
    // What follows an I frame must not overtake it: its N(R) would be newer than the frame's own.
    const urgent = !isCommand && [...this.unsent].every((one) => one.urgent)
    const flight = { cancel: (): void => {}, urgent }
    this.unsent.add(flight)
    flight.cancel = carrier.send(octets, urgent, () => {
      if (this.unsent.delete(flight) && this.unsent.size === 0) this.advance({ type: 'sent' })
    })
  }

  private tellRejected(payload: Uint8Array): void {
    const reject = decodeFrmr(payload, this.modulo)
    const reasons = reject.ok ? reject.value.reasons.join(', ') : reject.reason
    this.parts.onRejected?.(reasons)
  }

  private withdraw(): void {
    this.takeBackUnsent()
    this.link.unsent = false
  }

  private takeBackUnsent(): void {
    const flights = [...this.unsent]
    this.unsent.clear()
    for (const { cancel } of flights) cancel()
  }

  private respond(name: 'TEST' | 'XID', pollFinal: boolean, payload: Uint8Array): void {
    const held = payload.length > this.parts.link.version20.informationOctetsMax ? empty : payload
    this.sendU(name, false, pollFinal, held)
  }

  private sendU(
    name: 'TEST' | 'XID',
    isCommand: boolean,
    pollFinal: boolean,
    payload: Uint8Array,
  ): void {
    const control: Control = { type: 'U', name, pollFinal }
    this.send({ control, isCommand, payload })
  }

  private ownXid(): Uint8Array {
    const { version20, version22 } = this.parts.link
    return xidOf(this.isOpen && this.link.parameters.modulo === 8 ? version20 : version22)
  }

  /** Answered in any state; it changes a connection that stands, and begins none. */
  private takeXid(payload: Uint8Array, isCommand: boolean, pollFinal: boolean): void {
    const told = decodeXid(payload)
    const octetsMax = told.ok ? told.value.informationOctetsMax : undefined
    if (octetsMax !== undefined) this.peerOctetsMax = Math.max(octetsMax, peerOctetsMin)
    if (told.ok && this.isOpen) {
      const { parameters } = this.link
      const next = negotiated(parameters, told.value)
      // The modulo of a connection that stands is settled.
      this.link.parameters = { ...next, modulo: parameters.modulo }
      this.link.windowFrames = Math.min(this.link.windowFrames, next.windowFramesMax)
    }
    if (isCommand) this.respond('XID', pollFinal, this.ownXid())
  }
}

/** Whoever says that it can take less would have each answer cut into hundreds of frames. */
const peerOctetsMin = 16
/** AX.25 v2.2, figure 6.2: seven bits count those that follow. */
const segmentsMax = 128
const empty = new Uint8Array()
const unrepeated = (address: Address): PathEntry => ({ address, repeated: false })
const isResetByPeer = (action: LinkAction): boolean =>
  action.type === 'error' && action.code === 'F'
