import { type Address, parseAddress } from '../../../src/ax25/address.js'
import { decodeFrame } from '../../../src/ax25/frame.js'
import { type LinkOptions, linkOptionsDefault } from '../../../src/ax25/session/linkState.js'
import { type LinkEnd, type PeerLink, peerLink } from '../../../src/node/connected/peerLink.js'
import type { Peer } from '../../../src/node/connected/session.js'
import type { Clock } from '../../../src/runtime/clock.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { virtualClock } from '../../../src/runtime/virtualClock.js'
import { type AirOptions, type LinkAir, linkAir } from './linkAir.js'

export const address = (text: string): Address => {
  const parsed = parseAddress(text)
  if (!parsed.ok) throw new RangeError(parsed.reason)
  return parsed.value
}

/** One end of a session, with what it sent, heard and knows. */
export class End {
  readonly sent: number[] = []
  readonly received: number[] = []
  link!: PeerLink
  peer: Peer | undefined
  connected = false
  /** it knows that the session did not run to its end */
  broken = false
  ended: LinkEnd | undefined
  resets = 0
  finished = false
  /** octets that it has still to hand over */
  private left: number[]

  constructor(
    private readonly clock: Clock,
    private readonly expects: number,
    toSend: readonly number[],
    private readonly closes: boolean,
  ) {
    this.left = [...toSend]
  }

  build(
    air: LinkAir,
    own: string,
    other: string,
    options: Partial<LinkOptions>,
    frameOctets: number,
  ): void {
    const carrier = air.attach((octets) => {
      const plain = decodeFrame(octets)
      if (!plain.ok) throw new Error(plain.reason)
      const read = decodeFrame(octets, { strict: true, modulo: this.link.modulo })
      if (read.ok) this.link.take(read.frame)
    })
    this.link = peerLink({
      ...{ clock: this.clock, own: address(own), peer: address(other), path: [], carrier },
      ...{ link: { ...linkOptionsDefault, ...options }, frameOctets, backlogOctetsMax: 65_536 },
      onConnected: () => {
        this.connected = true
      },
      onEnded: (end) => {
        this.ended = end
        this.link.mayConnect = false
        const all = this.isComplete() && this.link.sentOctets === this.sent.length
        if (!this.finished && !(end === 'by the other station' && all)) this.broken = true
      },
      onReset: () => {
        this.resets++
        // Before anything got through, a call that is repeated only begins the same once more.
        const isFirst = this.received.length === 0 && this.link.sentOctets === 0
        if (isFirst && this.link.isOpen) {
          this.left = [...this.sent.splice(0), ...this.left]
          return
        }
        this.broken = true
        this.link.mayConnect = false
        this.clock.at(this.clock.monotonicMs(), () => this.link.drop())
      },
      openSession: (peer) => {
        this.peer = peer
        return {
          begin: () => this.push(),
          receive: (octets) => {
            if (this.broken) return
            this.received.push(...octets)
            this.finishSoon()
          },
          drained: () => this.push(),
          reset: () => {
            if (!this.broken) this.push()
          },
          ended: () => {
            this.peer = undefined
          },
        }
      },
    })
    this.link.mayConnect = true
  }

  isComplete(): boolean {
    return this.left.length === 0 && this.received.length >= this.expects
  }

  /** Hands over the next piece. */
  push(): void {
    const piece = this.left.slice(0, 2000)
    if (piece.length > 0 && this.peer?.write(Uint8Array.from(piece)) === true) {
      this.left = this.left.slice(piece.length)
      this.sent.push(...piece)
    }
    this.finishSoon()
  }

  private finishSoon(): void {
    if (!this.closes || !this.isComplete() || this.peer === undefined || this.finished) return
    if (this.peer.waitingOctets > 0) return
    this.finished = true
    this.peer.close()
  }
}

export interface SessionResult {
  readonly caller: End
  readonly called: End
  readonly complete: boolean
  readonly airtimeMs: number
  readonly frameCount: number
  readonly elapsedMs: number
}

export interface SessionOptions extends Omit<AirOptions, 'clock' | 'random'> {
  readonly seed: number
  readonly version: '2.0' | '2.2'
  readonly callerOctets: number
  readonly calledOctets: number
  readonly windowFrames?: number
  readonly frameOctets?: number
}

const dayMs = 24 * 3600_000

/** A whole session of two of our stations, from the call to the end. */
export function runSession(options: SessionOptions): SessionResult {
  const { seed, version, callerOctets, calledOctets, windowFrames = 4, frameOctets = 128 } = options
  const clock = virtualClock()
  const random = seededRandom(seed)
  const air = linkAir({ ...options, clock, random })
  const content = (count: number): number[] =>
    Array.from({ length: count }, () => Math.floor(random() * 256))
  const caller = new End(clock, calledOctets, content(callerOctets), true)
  const called = new End(clock, callerOctets, content(calledOctets), false)
  const link = {
    version20: { ...linkOptionsDefault.version20, windowFramesMax: Math.min(7, windowFrames) },
    version22: { ...linkOptionsDefault.version22, windowFramesMax: windowFrames },
  }
  caller.build(air, 'Q1ABC', 'Q2VAN', link, frameOctets)
  called.build(air, 'Q2VAN', 'Q1ABC', link, frameOctets)
  caller.link.connect(version)
  while (clock.nextAtMs() !== undefined && clock.monotonicMs() < dayMs) {
    clock.advanceTo(Math.min(clock.nextAtMs()!, dayMs))
    if (caller.link.isIdle && called.link.isIdle && caller.ended !== undefined) break
  }
  return {
    ...{ caller, called, airtimeMs: air.airtimeMs, frameCount: air.frameCount },
    complete:
      same(caller.sent, called.received) &&
      same(called.sent, caller.received) &&
      caller.sent.length === callerOctets &&
      called.sent.length === calledOctets,
    elapsedMs: clock.monotonicMs(),
  }
}

const same = (a: readonly number[], b: readonly number[]): boolean =>
  a.length === b.length && a.every((octet, at) => octet === b[at])

/** What must hold of every session, whatever was lost. @returns what does not */
export function faultOf({
  caller,
  called,
  complete,
  elapsedMs,
}: SessionResult): string | undefined {
  const isBeginning = (part: readonly number[], of: readonly number[]): boolean =>
    part.length <= of.length && part.every((octet, at) => octet === of[at])
  if (!isBeginning(called.received, caller.sent)) return 'the called station got what was not sent'
  if (!isBeginning(caller.received, called.sent)) return 'the caller got what was not sent'
  if (elapsedMs >= dayMs) return 'it never ended'
  if (complete) return undefined
  if (!caller.broken && caller.ended === undefined) return 'the caller knows of nothing'
  if (!called.broken && called.connected) return 'the called station knows of nothing'
  return undefined
}
