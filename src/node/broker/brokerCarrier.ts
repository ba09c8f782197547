import { type Cancel, type Clock, every } from '../../runtime/clock.js'
import type { OpenSession, Peer, Session } from '../connected/session.js'
import type { CalledHills, HillCarrier } from '../hills/hillCarrier.js'
import { type Tally, tally } from '../tally.js'
import type { Broker, BrokerMessage } from './broker.js'
import {
  type Piece,
  type PieceWord,
  pieceOctetsMax,
  piecePayload,
  readOnline,
  readPiece,
  topicsOf,
} from './topics.js'

export interface BrokerCarrierParts {
  readonly clock: Clock
  readonly broker: Pick<Broker, 'publish' | 'state'>
  readonly prefix: string
  readonly own: string
  /** nodes that are reached by the broker */
  readonly neighbours: readonly string[]
  readonly everyMs: number
  readonly turnOctets: number
  /** without a word of the other a session is given up */
  readonly timeLimitMs: number
  /** 16 characters a to z, 2 to 7, never the same */
  readonly newSession: () => string
}

/** Sessions with other nodes over a broker. */
export interface BrokerCarrier extends HillCarrier {
  /** The broker is there, perhaps again: what it has not confirmed is said again. */
  up(): void
  /** Who is online is told anew when it is there again. */
  down(): void
  message(topic: string, payload: Uint8Array): void
  readonly topics: readonly string[]
  readonly openCount: number
  /** what came and was left out, by reason */
  readonly ignored: Tally
}

/** Octets that may wait for one node. */
const backlogOctetsMax = 1_000_000
/** A session in which something came so lately is not given up for another that the same node seems to begin. */
const freshMs = 5_000
const overKept = 8
/** Answers to sessions that are not known here; whoever floods us gets no more. */
const goneWaitingMax = 50

/** One end of a session. */
interface Link {
  readonly call: string
  readonly id: string
  readonly isCaller: boolean
  session: Session
  /** pieces that were sent, and come next from the other */
  sent: number
  next: number
  heardAtMs: number
  waitingOctets: number
  readonly onEnded: (() => void) | undefined
}

/** Said, and not confirmed by the broker yet; in order. */
interface Unconfirmed {
  readonly message: BrokerMessage
  readonly notAfterMs: number
  readonly link: Link | undefined
  /** of the session, in it */
  readonly octets: number
}

/**
 * The broker hands pieces on in order, some of them twice, and loses what it held when it ends: so pieces are numbered, and a session
 * with a gap is over. What was in it is in the ledger still, and goes into the next session.
 */
export function brokerCarrier(parts: BrokerCarrierParts): BrokerCarrier {
  return new Carrier(parts)
}

class Carrier implements BrokerCarrier {
  readonly everyMs: number
  readonly turnOctets: number
  readonly topics: readonly string[]
  readonly ignored = tally()
  private readonly own
  /** the other's topics, by call */
  private readonly others
  private readonly online = new Set<string>()
  private readonly links = new Map<string, Link>()
  private readonly over: string[] = []
  private unconfirmed: Unconfirmed[] = []
  private hills: CalledHills | undefined
  private cancelLook: Cancel = () => {}

  constructor(private readonly parts: BrokerCarrierParts) {
    const { prefix, own, neighbours } = parts
    this.everyMs = parts.everyMs
    this.turnOctets = parts.turnOctets
    this.own = topicsOf(prefix, own)
    this.others = neighbours.map((call) => ({ call, topics: topicsOf(prefix, call) }))
    this.topics = this.others.flatMap(({ topics }) => [topics.online, topics.to(own)])
  }

  get openCount(): number {
    return this.links.size
  }

  start(hills: CalledHills): void {
    const { clock, timeLimitMs } = this.parts
    this.hills = hills
    this.cancelLook = every(clock, timeLimitMs / 4, () => this.look())
  }

  stop(): void {
    this.cancelLook()
    for (const link of [...this.links.values()]) this.drop(link)
    this.hills = undefined
    this.unconfirmed = []
  }

  reaches(call: string): boolean {
    return this.parts.broker.state.isUp && this.online.has(call)
  }

  call(call: string, openSession: OpenSession, onEnded: () => void): boolean {
    if (this.links.has(call) || !this.reaches(call)) return false
    this.open(call, this.parts.newSession(), true, openSession, onEnded)
    return true
  }

  up(): void {
    const waiting = this.unconfirmed.filter(({ notAfterMs }) => notAfterMs > this.nowMs)
    this.unconfirmed = []
    for (const one of waiting) this.publish(one)
  }

  down(): void {
    this.online.clear()
  }

  message(topic: string, payload: Uint8Array): void {
    const { own } = this.parts
    for (const { call, topics } of this.others) {
      if (topic === topics.to(own)) this.takePiece(call, payload)
      else if (topic === topics.online) this.takeOnline(call, payload)
      else continue
      return
    }
    this.ignored.note('a topic of nobody', '')
  }

  private get nowMs(): number {
    return this.parts.clock.monotonicMs()
  }

  private takeOnline(call: string, payload: Uint8Array): void {
    const online = readOnline(payload, call)
    if (online === undefined) this.ignored.note('no word of being online', call)
    else if (!online) this.online.delete(call)
    else {
      this.online.add(call)
      this.hills?.reached(call)
    }
  }

  private takePiece(call: string, payload: Uint8Array): void {
    const piece = readPiece(payload)
    if (piece === undefined) {
      this.ignored.note('no piece of a session', call)
      return
    }
    const { session, number, word, octets } = piece
    let link = this.links.get(call)
    if (link?.id !== session) {
      if (word === 'call' && number === 0) link = this.answer(call, session)
      else {
        // So that it need not wait until its time is up.
        if (word === 'call' || word === 'more') this.sayGone(call, session)
        return
      }
    }
    if (link === undefined) return
    if (word === 'gone') this.drop(link)
    else if (number > link.next) {
      this.ignored.note('a gap in a session', call)
      this.sayGone(call, session)
      this.drop(link)
    } else if (number < link.next) this.ignored.note('a piece that came twice', call)
    else {
      link.next++
      link.heardAtMs = this.nowMs
      if (octets.length > 0) link.session.receive(octets, 0)
      if (word === 'end') this.drop(link)
    }
  }

  /** @returns the session that another node begins; undefined where it is not taken */
  private answer(call: string, session: string): Link | undefined {
    const known = this.links.get(call)
    if (this.over.includes(session)) return undefined
    if (known !== undefined) {
      // Both called: that of whose call sorts first stands.
      const isCrossed = known.isCaller && known.next === 0
      const isKept = isCrossed ? this.parts.own < call : this.nowMs - known.heardAtMs < freshMs
      if (isKept) {
        this.ignored.note('a call while there is a session', call)
        return undefined
      }
      this.drop(known)
    }
    const openSession = this.hills?.sessionFor(call)
    if (openSession === undefined) return undefined
    return this.open(call, session, false, openSession, undefined)
  }

  private open(
    call: string,
    id: string,
    isCaller: boolean,
    openSession: OpenSession,
    onEnded: (() => void) | undefined,
  ): Link {
    const link: Link = {
      ...{ call, id, isCaller, session: noSession, sent: 0, next: 0 },
      ...{ heardAtMs: this.nowMs, waitingOctets: 0, onEnded },
    }
    this.links.set(call, link)
    link.session = openSession(this.peerOf(link))
    link.session.begin()
    return link
  }

  private peerOf(link: Link): Peer {
    const isOpen = (): boolean => this.links.get(link.call) === link
    return {
      call: link.call,
      write: (octets) => {
        if (!isOpen() || link.waitingOctets + octets.length > backlogOctetsMax) return false
        for (let at = 0; at < octets.length; at += pieceOctetsMax)
          this.say(link, 'more', octets.subarray(at, at + pieceOctetsMax))
        return true
      },
      get waitingOctets() {
        return link.waitingOctets
      },
      setReady: () => {},
      close: () => {
        if (!isOpen()) return
        this.say(link, 'end')
        this.drop(link)
      },
    }
  }

  private say(link: Link, word: PieceWord, octets: Uint8Array = nothing): void {
    const isCall = word === 'more' && link.isCaller && link.sent === 0
    this.sayPiece(link.call, link, {
      ...{ session: link.id, number: link.sent++, word: isCall ? 'call' : word, octets },
    })
  }

  private sayGone(call: string, session: string): void {
    if (this.unconfirmed.length > goneWaitingMax) return
    this.sayPiece(call, undefined, { session, number: 0, word: 'gone', octets: nothing })
  }

  private sayPiece(call: string, link: Link | undefined, piece: Piece): void {
    const { timeLimitMs } = this.parts
    const octets = piece.octets.length
    if (link !== undefined) link.waitingOctets += octets
    this.publish({
      octets,
      message: {
        ...{ topic: this.own.to(call), payload: piecePayload(piece), retain: false },
        expiryMs: timeLimitMs,
      },
      notAfterMs: this.nowMs + timeLimitMs,
      link,
    })
  }

  private publish(one: Unconfirmed): void {
    this.unconfirmed.push(one)
    this.parts.broker.publish(one.message, (isTaken) => {
      const at = this.unconfirmed.indexOf(one)
      if (!isTaken || at < 0) return
      this.unconfirmed.splice(at, 1)
      if (one.link !== undefined) one.link.waitingOctets -= one.octets
    })
  }

  private look(): void {
    this.unconfirmed = this.unconfirmed.filter(({ notAfterMs }) => notAfterMs > this.nowMs)
    for (const link of [...this.links.values()])
      if (this.nowMs - link.heardAtMs > this.parts.timeLimitMs) this.drop(link)
  }

  /** It is over at this end: what is said in it from now on is not listened to. */
  private drop(link: Link): void {
    if (this.links.get(link.call) !== link) return
    this.links.delete(link.call)
    this.over.push(link.id)
    if (this.over.length > overKept * (this.others.length + 1)) this.over.shift()
    link.session.ended()
    link.onEnded?.()
  }
}

const nothing = new Uint8Array(0)
const noSession: Session = {
  begin() {},
  receive() {},
  drained() {},
  reset() {},
  ended() {},
}
